// The frame every bench shares: title, question, controls, picture, figures, text result, player, reset.

function showFigures(list, figures) {
  list.replaceChildren(...figures.map(([name, value]) => {
    const pair = element("div");
    pair.append(element("dt", {}, name), element("dd", {}, value));
    return pair;
  }));
}

// Listen: the sound is made when asked for, plays because it was asked for, and stops when it is out of date.
function makePlayer(model) {
  const box = element("div", { class: "kitb-player" });
  const button = element("button", { type: "button" }, "Listen");
  const line = element("span", { class: "kitb-hint", role: "status" });
  let audio = null, url = null;
  const stop = () => {
    if (audio) { audio.pause(); audio.remove(); URL.revokeObjectURL(url); }
    audio = null;
    line.textContent = "";
  };
  const arrived = () => {
    stop();
    const wav = model.get("wav");
    if (!wav || !wav.byteLength) return;
    url = URL.createObjectURL(new Blob([wav], { type: "audio/wav" }));
    audio = element("audio", { controls: "", "aria-label": "Player" });
    audio.src = url;
    box.append(audio);
    line.textContent = model.get("heard");
    audio.play().catch(() => { line.textContent = `${model.get("heard")}. Press play.`; });
  };
  button.addEventListener("click", () => { stop(); model.send({ kind: "listen" }); });
  model.on("change:wav", arrived);
  box.append(button, line);
  return { box, close() { model.off("change:wav", arrived); stop(); } };
}

function makePicture(model) {
  const canvas = element("canvas", { role: "img" });
  const image = element("img", { alt: "" });
  const scope = makeScope(canvas, (pane, x, y) => model.send({ kind: "pick", pane, x, y }));
  const box = element("div", { class: "kitb-picture" });
  box.append(canvas, image);
  let url = null;
  const show = () => {
    const png = model.get("png");
    const real = png && png.byteLength > 0;
    canvas.hidden = real;
    image.hidden = !real;
    if (url) URL.revokeObjectURL(url);
    url = real ? URL.createObjectURL(new Blob([png], { type: "image/png" })) : null;
    if (real) image.src = url;
    else scope.show(model.get("plan"), model.get("numbers"));
    image.alt = model.get("alt");
    canvas.setAttribute("aria-label", model.get("alt"));
  };
  return { box, show, close() { scope.close(); if (url) URL.revokeObjectURL(url); } };
}

// Long work: how far it is, and a way to stop it.
function makeProgress(model) {
  const box = element("div", { class: "kitb-progress" });
  const bar = element("progress", { max: 1, "aria-label": "Work done" });
  const stop = element("button", { type: "button" }, "Stop");
  stop.addEventListener("click", () => model.send({ kind: "stop" }));
  box.append(bar, stop);
  const show = () => { bar.value = model.get("progress"); box.hidden = model.get("progress") >= 1; };
  model.on("change:progress", show);
  show();
  return { box, close() { model.off("change:progress", show); } };
}

function render({ model, el }) {
  const frame = element("section", { class: "kitb", "data-bench": model.get("name") });
  frame.setAttribute("aria-label", model.get("title"));
  const controls = makeControls(model.get("fields"), (name, position, gesture) => {
    model.set("values", { ...model.get("values"), [name]: position });
    model.set("gesture", gesture);
    model.save_changes();
  });
  const picture = makePicture(model);
  const figures = element("dl", { class: "kitb-figures" });
  const result = element("p", { class: "kitb-result", role: "status", "aria-live": "polite" });
  const changed = element("p", { class: "kitb-changed" });
  const reset = element("button", { type: "button", class: "kitb-reset" }, "Reset");
  reset.addEventListener("click", () => model.send({ kind: "reset" }));
  const player = model.get("sounds") ? makePlayer(model) : null;
  const progress = makeProgress(model);

  const left = element("div", { class: "kitb-left" });
  const buttons = element("div", { class: "kitb-buttons" });
  buttons.append(reset, ...(player ? [player.box] : []));
  left.append(controls.box, buttons, progress.box);
  const right = element("div", { class: "kitb-right" });
  right.append(picture.box, figures, result, changed);
  const columns = element("div", { class: "kitb-columns" });
  columns.append(left, right);
  frame.append(element("h3", {}, model.get("title")), element("p", { class: "kitb-question" }, model.get("question")), columns);
  el.append(frame);

  const setControls = () => controls.set(model.get("values"));
  const showAll = () => {
    picture.show();
    showFigures(figures, model.get("figures"));
    result.textContent = model.get("text");
    changed.textContent = model.get("changed") || "What changed: nothing yet. Move something.";
    frame.dataset.seq = model.get("seq");
  };
  model.on("change:values", setControls);
  model.on("change:seq", showAll);
  setControls();
  showAll();
  return () => {
    model.off("change:values", setControls);
    model.off("change:seq", showAll);
    picture.close();
    player?.close();
    progress.close();
  };
}

export default { render };
