// A question with its answer: radio buttons or a text field, a button that saves, and a line that says what came of it.

function element(kind, attributes = {}, words = "") {
  const made = document.createElement(kind);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  // JupyterLab's keys for cells are caught before they get here, unless the very element with the focus says so.
  if (["input", "textarea", "button"].includes(kind)) made.setAttribute("data-lm-suppress-shortcuts", "true");
  made.textContent = words;  // never markup
  return made;
}

function newId() {
  return `kitq-${crypto.getRandomValues(new Uint32Array(2)).join("-")}`;
}

function choices(model, question) {
  const box = element("fieldset");
  box.append(element("legend", {}, question));
  const group = newId();
  const inputs = model.get("options").map(([letter, words]) => {
    const id = newId();
    const row = element("div", { class: "kitq-option" });
    const input = element("input", { type: "radio", name: group, id, value: letter });
    input.checked = model.get("value") === letter;
    row.append(input, element("label", { for: id }, `${letter}) ${words}`));
    box.append(row);
    return input;
  });
  return { box, value: () => inputs.find((input) => input.checked)?.value ?? "" };
}

function words(model, question) {
  const box = element("div");
  const id = newId();
  const input = element("textarea", { id, rows: 2, maxlength: 2000 });
  input.value = model.get("value");
  box.append(element("label", { for: id }, question), input);
  return { box, value: () => input.value };
}

function render({ model, el }) {
  const frame = element("section", { class: "kitq" });
  frame.setAttribute("aria-label", "Question");
  const make = model.get("options").length ? choices : words;
  const answer = make(model, model.get("question"));
  const save = element("button", { type: "button" }, model.get("button"));
  const status = element("p", { role: "status", "aria-live": "polite" }, model.get("status"));
  save.addEventListener("click", () => model.send({ kind: "save", value: answer.value() }));
  frame.append(answer.box, save, status);
  el.append(frame);
  const say = () => { status.textContent = model.get("status"); };
  model.on("change:status", say);
  return () => model.off("change:status", say);
}

export default { render };
