// The live ear in the page: one recorder for each model, however many views show it. No network, no markup from text.

const OFF = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
const FLOOR_DB = -60;
const PIECE = 1 << 20;  // of a file, in bytes

// Runs beside the page, in the audio thread: it collects chunks and numbers them by the frames that went by, so that
// what is lost on the way can be counted. The first quarter of a second, where inputs start up, is left out.
const TAP = `
registerProcessor("tap", class extends AudioWorkletProcessor {
  constructor() {
    super();
    this.start = null;
    this.over = false;
    this.empty();
    this.port.onmessage = () => { this.send(); this.over = true; this.port.postMessage({ over: true }); };
  }
  empty() { this.chunk = new Float32Array(4096); this.filled = 0; this.first = 0; }
  send() {
    if (!this.filled) return;
    const samples = this.chunk.slice(0, this.filled);
    this.port.postMessage({ first: this.first, samples }, [samples.buffer]);
    this.empty();
  }
  process(inputs) {
    const heard = inputs[0][0];
    if (this.over) return false;
    if (!heard) return true;
    if (this.start === null) this.start = currentFrame + heard.length * Math.ceil(0.25 * sampleRate / heard.length);
    const at = currentFrame - this.start;
    if (at < 0) return true;
    if (this.filled && at !== this.first + this.filled) this.send();
    if (!this.filled) this.first = at;
    this.chunk.set(heard, this.filled);
    this.filled += heard.length;
    if (this.filled + heard.length > this.chunk.length) this.send();
    return true;
  }
});`;

const FILE_INSTEAD = "Or open a file below: that needs no microphone.";
const TROUBLES = {
  NotAllowedError: "The microphone was refused, by you, the browser or the system. Allow it beside the address of this page, and press Record again.",
  NotFoundError: "No microphone or line input was found. Plug one in, and press Record again.",
  NotReadableError: "The input cannot be opened: another program may be using it. Close that, and press Record again.",
  OverconstrainedError: "The input that was chosen is gone. Choose another, and press Record again.",
};

function lacking() {
  if (!window.isSecureContext) return `This page is not secure, and browsers give no microphone to such pages. Open it as https://, or at http://localhost on the computer itself.`;
  if (!navigator.mediaDevices?.getUserMedia) return "This browser gives pages no microphone. Take another browser.";
  if (!window.AudioWorkletNode) return "This browser cannot hand on the samples of a microphone. Take a newer one.";
  return "";
}

// -- the recorder ------------------------------------------------------------------------------------------

const RECORDERS = new Map();  // by the model's key: a model may be shown in many views, and module and proxies differ

function makeRecorder(model) {
  const watchers = new Set();
  const recorder = { on: false, asking: false, words: "", heard: model.get("status"), peak: 0, agreed: false, views: 0, watchers, since: null };
  let parts = null;
  const tell = () => { for (const told of watchers) told(); };
  const trouble = (words) => {
    recorder.words = `${words} ${FILE_INSTEAD}`;
    recorder.since = model.get("status");  // it stays until the next try: a busy kernel may still have older news
    model.send({ kind: "trouble", words: recorder.words });
  };

  async function open(device) {
    const stream = await navigator.mediaDevices.getUserMedia({
      audio: { ...OFF, channelCount: 1, ...(device ? { deviceId: { exact: device } } : {}) },
    });
    const context = new AudioContext();
    const url = URL.createObjectURL(new Blob([TAP], { type: "text/javascript" }));
    try {
      await context.resume();
      await context.audioWorklet.addModule(url);
    } finally {
      URL.revokeObjectURL(url);
    }
    return { stream, context, track: stream.getAudioTracks()[0], number: crypto.getRandomValues(new Uint32Array(1))[0] };
  }

  function connect({ stream, context, track, number }) {
    const tap = new AudioWorkletNode(context, "tap", { numberOfOutputs: 1 });
    const muted = new GainNode(context, { gain: 0 });  // without a way to the output nothing would run
    context.createMediaStreamSource(stream).connect(tap).connect(muted).connect(context.destination);
    model.send({ kind: "start", number, rate: context.sampleRate, label: track.label, settings: track.getSettings() });
    tap.port.onmessage = ({ data }) => {
      if (data.over) { parts?.flushed?.(); return; }
      recorder.peak = data.samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
      model.send({ kind: "sound", number, first: data.first }, undefined, [data.samples.buffer]);
      tell();
    };
    track.addEventListener("ended", () => {
      recorder.words = "The input went away: was it unplugged? What was heard until then is kept.";
      recorder.stop();
    });
    return tap;
  }

  recorder.start = async (device) => {
    if (recorder.on || recorder.asking) return;
    recorder.words = "";
    recorder.since = null;
    const lack = lacking();
    if (lack) { trouble(lack); tell(); return; }
    recorder.asking = true;
    tell();
    let opened = null;
    try {
      opened = await open(device);
      parts = { ...opened, tap: connect(opened) };
      recorder.on = true;
    } catch (error) {
      opened?.track.stop();
      opened?.context.close();
      trouble(TROUBLES[error.name] ?? `The input cannot be opened (${error.name}: ${error.message}).`);
    }
    recorder.asking = false;
    tell();
    if (recorder.on && !recorder.views) recorder.stop();  // closed while the browser was asking
  };

  recorder.stop = async () => {
    if (!recorder.on) return;
    recorder.on = false;
    const { tap, track, context, number } = parts;
    // What the audio thread still holds comes first.
    const flushed = new Promise((done) => { parts.flushed = done; setTimeout(done, 1000); });
    tap.port.postMessage("flush");
    await flushed;
    track.stop();
    await context.close();
    parts = null;
    recorder.peak = 0;
    tell();
    model.send({ kind: "stop", number });
  };

  // A file goes piece by piece, the next when the one before has arrived.
  recorder.send = (file) => {
    const number = crypto.getRandomValues(new Uint32Array(1))[0];
    const piece = async (at) => {
      const data = await file.slice(at, at + PIECE).arrayBuffer();
      model.send({ kind: "file", number, name: file.name, size: file.size, at }, undefined, [data]);
    };
    recorder.words = `Sending the file to the notebook: ${file.name}`;
    recorder.since = null;
    recorder.file = { number, file, piece };
    tell();
    piece(0).catch((error) => { recorder.words = `The file cannot be read (${error.name}).`; tell(); });
  };

  const answered = (message) => {
    if (message.kind === "go on" && message.number === recorder.file?.number) {
      recorder.words = "";
      if (message.have < recorder.file.file.size) recorder.file.piece(message.have);
      else recorder.file = null;
    } else if (message.kind === "refused" || message.kind === "enough") {
      recorder.words = "";
      recorder.file = null;
      if (message.number === parts?.number) recorder.stop();
    }
    tell();
  };
  model.on("msg:custom", answered);
  recorder.close = () => { model.off("msg:custom", answered); recorder.stop(); };
  return recorder;
}

// -- parts of the view -------------------------------------------------------------------------------------

function element(kind, attributes = {}, words = "", ...children) {
  const made = document.createElement(kind);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  // JupyterLab's keys for cells are caught before they get here, unless the very element with the focus says so.
  if (["input", "select", "button"].includes(kind)) made.setAttribute("data-lm-suppress-shortcuts", "true");
  made.textContent = words;  // never markup
  made.append(...children);
  return made;
}

const freshId = () => `kite-${crypto.getRandomValues(new Uint32Array(2)).join("-")}`;

function labelled(words, control) {
  control.id = freshId();
  return element("div", { class: "kite-row" }, "", element("label", { for: control.id }, words), control);
}

const minutes = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

function whereItGoes(hub) {
  const host = location.hostname;
  const here = ["localhost", "127.0.0.1", "[::1]"].includes(host);
  const kept = "It is kept in memory until you save it, and goes nowhere else.";
  if (hub) return `${hub}${kept}`;
  if (here) return `What you record goes from this page to the notebook's own server, at ${host}: on this computer, unless you came here through a tunnel. ${kept}`;
  return `What you record goes from this page to the server ${host}, and those who run it could hear it. ${kept}`;
}

function makeMeter([low, high]) {
  const place = (level) => `${100 * (Math.max(FLOOR_DB, Math.min(0, level)) - FLOOR_DB) / -FLOOR_DB}%`;
  const bar = element("div", { class: "kite-bar" });
  const zone = element("div", { class: "kite-zone" }, "", element("span", {}, "loading zone"));
  zone.style.left = place(low);
  zone.style.width = `${parseFloat(place(high)) - parseFloat(place(low))}%`;
  const meter = element("div", { class: "kite-meter", role: "meter", "aria-label": "Level", "aria-valuemin": FLOOR_DB, "aria-valuemax": 0 }, "", zone, bar);
  const words = element("span", { class: "kite-level" });
  const box = element("div", { class: "kite-levels" }, "", element("span", {}, `${FLOOR_DB} dB`.replace("-", "−")), meter, element("span", {}, "0 dB"), words);
  let held = 0, heldAt = 0;
  const show = (peak, on) => {
    const now = performance.now();
    if (peak >= held || now - heldAt > 1000 || !on) { held = peak; heldAt = now; }
    const level = held > 0 ? 20 * Math.log10(held) : FLOOR_DB;
    bar.style.width = place(level);
    const judged = level < low ? "too quiet: turn up" : level > high ? "too loud: turn down" : "in the loading zone";
    const said = !on ? "not listening" : held > 0 ? `${Math.round(level)} dB, ${judged}`.replace("-", "−") : "silent";
    words.textContent = said;
    meter.setAttribute("aria-valuenow", Math.round(Math.max(FLOOR_DB, Math.min(0, level))));
    meter.setAttribute("aria-valuetext", said);
  };
  show(0, false);
  return { box, show };
}

function makeInputs() {
  const list = element("select", {}, "", element("option", { value: "" }, "the usual one"));
  const show = async () => {
    const devices = (await navigator.mediaDevices?.enumerateDevices?.().catch(() => [])) ?? [];
    const inputs = devices.filter((one) => one.kind === "audioinput" && one.deviceId && one.deviceId !== "default");
    const chosen = list.value;
    list.replaceChildren(element("option", { value: "" }, "the usual one"), ...inputs.map((one, k) =>
      element("option", { value: one.deviceId }, one.label || `input ${k + 1} (named once you have allowed it)`)));
    list.value = inputs.some((one) => one.deviceId === chosen) ? chosen : "";
  };
  navigator.mediaDevices?.addEventListener?.("devicechange", show);
  show();
  return { list, show, close() { navigator.mediaDevices?.removeEventListener?.("devicechange", show); } };
}

function makeLines(model) {
  const list = element("ol", { reversed: "", class: "kite-lines", "aria-label": "What was heard, newest first", tabindex: "0" });
  const earlier = element("p", { class: "kitb-hint" });
  const show = () => {
    const lines = model.get("lines"), count = model.get("earlier");
    earlier.textContent = count ? `${count} earlier lines are not shown.` : "";
    // The newest on top: so nothing has to scroll by itself.
    list.start = count + lines.length;
    list.replaceChildren(...[...lines].reverse().map((line) => element("li", {}, line)));
    list.hidden = !lines.length;
  };
  return { box: element("div", {}, "", list, earlier), show };
}

function makeSaving(model) {
  const name = element("input", { type: "text", maxlength: 100, autocomplete: "off", spellcheck: "false" });
  name.value = "recording";
  const save = element("button", { type: "button" }, "Save the recording");
  const files = element("button", { type: "button" }, "Save the files found");
  const again = element("button", { type: "button" }, "Read again, patiently");
  const kept = element("p", { role: "status", class: "kite-kept" });
  save.addEventListener("click", () => model.send({ kind: "save", name: name.value }));
  files.addEventListener("click", () => model.send({ kind: "save files" }));
  again.addEventListener("click", () => model.send({ kind: "again" }));
  const box = element("div", { class: "kite-saving", role: "group", "aria-label": "Keep what was recorded" }, "",
    labelled("Name to save it under (a code name, no real ones)", name),
    element("div", { class: "kitb-buttons" }, "", save, files, again), kept);
  const show = () => {
    box.hidden = ["empty", "recording"].includes(model.get("state"));
    files.disabled = model.get("state") !== "ready" || !model.get("files").length;
    again.disabled = model.get("state") !== "ready";
    kept.textContent = model.get("kept");
  };
  return { box, show };
}

function render({ model, el }) {
  if (!RECORDERS.has(model.get("key"))) RECORDERS.set(model.get("key"), makeRecorder(model));
  const recorder = RECORDERS.get(model.get("key"));
  recorder.views += 1;

  const agreed = element("input", { type: "checkbox" });
  const consent = labelled("All who may be heard know of the recording and agree; for children, those who look after them, too", agreed);
  consent.classList.add("kite-consent");
  const inputs = makeInputs();
  const record = element("button", { type: "button", class: "kite-record" }, "Record");
  const stop = element("button", { type: "button" }, "Stop");
  const badge = element("span", { class: "kite-badge" });
  const meter = makeMeter(model.get("zone"));
  const status = element("p", { class: "kitb-result", role: "status", "aria-live": "polite" });
  const bar = element("progress", { max: 1, "aria-label": "Reading done" });
  const lines = makeLines(model), saving = makeSaving(model);
  const files = element("ul", { class: "kite-files", "aria-label": "Files found" });
  const warnings = element("ul", { class: "kite-warnings", "aria-label": "What may spoil the recording" });
  const facts = element("p", { class: "kitb-changed" });
  const upload = element("input", { type: "file", accept: "audio/*,.wav,.flac,.aiff,.au,.caf,.w64,.ogg,.opus,.mp3" });

  agreed.addEventListener("change", () => { recorder.agreed = agreed.checked; for (const told of recorder.watchers) told(); });
  record.addEventListener("click", async () => {
    if (!recorder.agreed) {
      recorder.words = "Tick first that all who may be heard know and agree.";
      agreed.focus();
      showNow();
      return;
    }
    await recorder.start(inputs.list.value);
    inputs.show();
  });
  stop.addEventListener("click", () => (recorder.on ? recorder.stop() : model.send({ kind: "halt" })));
  upload.addEventListener("change", () => {
    if (upload.files.length) recorder.send(upload.files[0]);
    upload.value = "";
  });

  el.append(element("section", { class: "kitb kite", "aria-label": "Live ear" }, "",
    element("h3", {}, "Live ear"),
    element("p", { class: "kitb-question" }, "Play a tape into the microphone or, better, the line input, and see it read while it plays."),
    element("p", { class: "kitb-hint" }, whereItGoes(model.get("hub"))),
    consent, labelled("Input", inputs.list),
    element("div", { class: "kitb-buttons" }, "", record, stop, badge),
    meter.box, status, bar, lines.box, files, warnings, facts, saving.box,
    labelled("Or open a recording from a file", upload)));
  const section = el.lastElementChild;

  const showNow = () => {
    const state = model.get("state"), on = recorder.on;
    agreed.checked = recorder.agreed;
    record.disabled = on || recorder.asking || state === "recording";
    stop.disabled = !(on || state === "recording" || state === "reading");
    upload.disabled = on || recorder.asking || Boolean(recorder.file);
    const taken = `${minutes(model.get("seconds"))} of at most ${minutes(model.get("limit_s"))}`;
    badge.textContent = on || state === "recording" ? `● Recording: ${taken}` : recorder.asking ? "The browser asks for the microphone …" : "○ Not recording";
    badge.classList.toggle("kite-on", on || state === "recording");
    meter.show(recorder.peak, on);
    const news = model.get("status"), shown = recorder.words || news;
    const later = recorder.since !== null && news !== recorder.since && !news.includes(shown);
    const words = later ? `${shown} ${news}` : shown;
    if (status.textContent !== words) status.textContent = words;
    bar.hidden = state !== "reading";
    bar.value = model.get("progress");
  };
  const showAll = () => {
    // News from Python take the place of what the page said last.
    if (model.get("status") !== recorder.heard && recorder.since === null) recorder.words = "";
    recorder.heard = model.get("status");
    showNow();
    lines.show();
    saving.show();
    for (const [list, words] of [[files, model.get("files").map((pair) => pair[1])], [warnings, model.get("warnings")]]) {
      list.replaceChildren(...words.map((line) => element("li", {}, line)));
      list.hidden = !words.length;
    }
    facts.textContent = model.get("facts");
    facts.hidden = model.get("state") === "empty";
    section.dataset.seq = model.get("seq");
    section.dataset.state = model.get("state");
  };
  model.on("change:seq", showAll);
  recorder.watchers.add(showNow);
  const leaves = () => recorder.stop();
  window.addEventListener("pagehide", leaves);
  showAll();
  return () => {
    model.off("change:seq", showAll);
    recorder.watchers.delete(showNow);
    window.removeEventListener("pagehide", leaves);
    inputs.close();
    recorder.views -= 1;
    if (!recorder.views) recorder.stop();  // never unseen
  };
}

function initialize({ model }) {
  const key = model.get("key");
  RECORDERS.get(key)?.close();
  RECORDERS.set(key, makeRecorder(model));
  return () => { RECORDERS.get(key)?.close(); RECORDERS.delete(key); };
}

export default { initialize, render };
