// Controls from a list of fields: native elements with label, read-out and keyboard steps; positions go out.

const FIVE = { PageUp: 5, PageDown: -5 };

function element(kind, attributes = {}, words = "") {
  const made = document.createElement(kind);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  // JupyterLab's keys for cells are caught before they get here, unless the very element with the focus says so.
  if (["input", "select", "button", "audio"].includes(kind)) made.setAttribute("data-lm-suppress-shortcuts", "true");
  made.textContent = words;  // never markup
  return made;
}

function sliderOf(field, id, moved) {
  const input = element("input", { type: "range", id, min: 0, max: field.words.length - 1, step: 1 });
  const output = element("output", { for: id, class: "kitb-out" });
  const say = () => {
    const words = field.words[+input.value];
    output.textContent = words;
    input.setAttribute("aria-valuetext", words);
  };
  const keyed = (event) => {
    if (!(event.key in FIVE)) return;
    event.preventDefault();
    const last = field.words.length - 1;
    input.value = Math.min(last, Math.max(0, +input.value + FIVE[event.key]));
    say();
    moved(+input.value);
  };
  input.addEventListener("keydown", keyed);
  input.addEventListener("input", () => { say(); moved(+input.value); });
  return { parts: [input, output], input, set(value) { input.value = value; say(); } };
}

function listOf(field, id, moved) {
  const input = element("select", { id });
  field.words.forEach((words, k) => input.append(element("option", { value: k }, words)));
  input.addEventListener("change", () => moved(+input.value));
  return { parts: [input], input, set(value) { input.value = value; } };
}

function boxOf(field, id, moved) {
  const input = element("input", { type: "checkbox", id });
  input.addEventListener("change", () => moved(+input.checked));
  return { parts: [input], input, set(value) { input.checked = Boolean(value); } };
}

function lineOf(field, id, moved) {
  const input = element("input", { type: "text", id, maxlength: field.most, autocomplete: "off", spellcheck: "false" });
  input.addEventListener("input", () => moved(input.value));
  return { parts: [input], input, set(value) { if (input.value !== value) input.value = value; } };
}

const KINDS = { number: sliderOf, choice: listOf, switch: boxOf, text: lineOf };

// All controls; `moved(name, position, gesture)` is told of each step.
function makeControls(fields, moved) {
  const box = element("div", { class: "kitb-controls", role: "group", "aria-label": "Controls" });
  const controls = {};
  let gesture = Math.floor(Math.random() * 1e9);
  const begins = (event) => { if (!event.repeat) gesture += 1; };
  box.addEventListener("pointerdown", begins);
  box.addEventListener("keydown", begins);
  for (const field of fields) {
    const id = `kitb-${crypto.getRandomValues(new Uint32Array(2)).join("-")}`;
    const control = KINDS[field.kind](field, id, (position) => moved(field.name, position, gesture));
    const row = element("div", { class: `kitb-field kitb-${field.kind}`, "data-field": field.name });
    row.append(element("label", { for: id }, field.label), ...control.parts);
    if (field.hint) {
      row.append(element("span", { class: "kitb-hint", id: `${id}-hint` }, field.hint));
      control.input.setAttribute("aria-describedby", `${id}-hint`);
    }
    box.append(row);
    controls[field.name] = control;
  }
  return { box, set(values) { for (const [name, value] of Object.entries(values)) controls[name]?.set(value); } };
}
