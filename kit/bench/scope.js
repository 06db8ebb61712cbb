// The scope: draws a scene (kit/bench/scene.py) on a canvas. No signal processing: numbers come ready.

const TYPE = 'system-ui, "Segoe UI", Roboto, "DejaVu Sans", sans-serif';
const SMALL = `15px ${TYPE}`;
const BOLD = `600 16px ${TYPE}`;
const LARGE = `600 20px ${TYPE}`;
const INK = "#1a1a1a";
const PALE = "#c9c9c9";
const DASHES = { "": [], dash: [9, 5], dot: [2, 4] };

function rowsOf(view) {
  const bytes = view.buffer.slice(view.byteOffset, view.byteOffset + view.byteLength);
  const numbers = new Float32Array(bytes);
  return ([first, count]) => numbers.subarray(first, first + count);
}

function evenTicks(low, high, most) {
  const rough = (high - low) / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((part) => part * power).find((size) => size >= rough * 0.999);
  const ticks = [];
  for (let k = Math.ceil(low / step - 1e-6); k * step <= high + step * 1e-6; k++) ticks.push(k * step);
  const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  return ticks.map((at) => [at, at.toFixed(digits).replace(/^-(?=.*[1-9])/, "−").replace(/^-/, "")]);
}

function logTicks(low, high) {
  const ticks = [];
  for (let power = Math.floor(Math.log10(low)); power <= Math.log10(high); power++)
    for (const part of [1, 2, 5]) {
      const at = part * 10 ** power;
      if (at >= low * 0.999 && at <= high * 1.001) ticks.push([at, String(+at.toPrecision(3))]);
    }
  return ticks;
}

// Where a pane lies, and its ways from numbers to pixels.
function placed(pane, box) {
  const wide = pane.log_x ? Math.log : (value) => value;
  const [x0, x1] = pane.x_span.map(wide);
  const [y0, y1] = pane.y_span;
  return {
    ...box,
    x: (value) => box.left + ((wide(value) - x0) / (x1 - x0)) * box.width,
    y: (value) => box.top + box.height - ((value - y0) / (y1 - y0)) * box.height,
    level: (pixel) => y1 - ((pixel - box.top) / box.height) * (y1 - y0),
    back: (pixel) => {
      const at = x0 + ((pixel - box.left) / box.width) * (x1 - x0);
      return pane.log_x ? Math.exp(at) : at;
    },
  };
}

const sharesAxis = (pane, next) =>
  next && next.x_label === pane.x_label && String(next.x_span) === String(pane.x_span);

const legendOf = (pane) => pane.items.filter((item) => item.name);

function legendWidth(ctx, item) {
  ctx.font = SMALL;
  return 34 + ctx.measureText(item.name).width + 22;
}

// Rows of title and legend above a pane, each as a list of things with their left end.
function headRows(ctx, pane, width) {
  const rows = [];
  let row = [], at = 0;
  const put = (thing, size) => {
    if (row.length && at + size > width) { rows.push(row); row = []; at = 0; }
    row.push({ thing, at });
    at += size;
  };
  ctx.font = BOLD;
  if (pane.title) put({ title: pane.title }, ctx.measureText(pane.title).width + 28);
  for (const item of legendOf(pane)) put({ item }, legendWidth(ctx, item));
  if (row.length) rows.push(row);
  return rows;
}

function layOut(ctx, plan, width) {
  ctx.font = SMALL;
  let margin = 0;
  for (const pane of plan.panes) {
    const words = pane.bare ? [pane.y_label] : evenTicks(...pane.y_span, 4).map(([, word]) => word);
    const widest = Math.max(...words.map((word) => ctx.measureText(word).width));
    margin = Math.max(margin, widest + (pane.bare ? 14 : 40));
  }
  const inner = Math.max(60, width - margin - 18);
  const heads = plan.panes.map((pane) => headRows(ctx, pane, inner + margin - 8));
  const feet = plan.panes.map((pane, k) => (sharesAxis(pane, plan.panes[k + 1]) || !pane.x_label ? 14 : 52));
  const used = heads.reduce((sum, rows) => sum + 26 * rows.length + 6, 0) + feet.reduce((sum, foot) => sum + foot, 0);
  const shares = plan.panes.reduce((sum, pane) => sum + pane.share, 0);
  const room = Math.max(40 * plan.panes.length, plan.height - used);
  let top = 0;
  return plan.panes.map((pane, k) => {
    const head = 26 * heads[k].length + 6;
    const height = (room * pane.share) / shares;
    const place = placed(pane, { left: margin, top: top + head, width: inner, height });
    const made = { pane, place, head: heads[k], headTop: top, labelled: feet[k] > 20 };
    top += head + height + feet[k];
    return made;
  });
}

function stroke(ctx, colour, width, dash, path) {
  ctx.save();
  ctx.beginPath();
  ctx.strokeStyle = colour;
  ctx.lineWidth = width;
  ctx.lineJoin = "round";
  ctx.setLineDash(DASHES[dash] || []);
  path();
  ctx.stroke();
  ctx.restore();
}

function symbol(ctx, kind, x, y, colour) {
  stroke(ctx, colour, 2.2, "", () => {
    if (kind === "o") ctx.arc(x, y, 5, 0, 2 * Math.PI);
    if (kind === "x") { ctx.moveTo(x - 5, y - 5); ctx.lineTo(x + 5, y + 5); ctx.moveTo(x + 5, y - 5); ctx.lineTo(x - 5, y + 5); }
    if (kind === ".") ctx.arc(x, y, 0.8, 0, 2 * Math.PI);
    if (kind === "|") { ctx.moveTo(x, y - 9); ctx.lineTo(x, y + 9); }
    if (kind === "v") { ctx.moveTo(x - 6, y - 12); ctx.lineTo(x + 6, y - 12); ctx.lineTo(x, y - 2); ctx.closePath(); }
  });
}

const DRAW = {
  Stretch(ctx, item, place) {
    const from = Math.max(place.left, place.x(item.start));
    const to = Math.min(place.left + place.width, Math.max(from + 3, place.x(item.stop)));
    if (to <= from) return;
    ctx.save();
    ctx.beginPath();
    ctx.rect(from, place.top, to - from, place.height);
    ctx.clip();
    ctx.globalAlpha = 0.1;
    ctx.fillStyle = item.colour;
    ctx.fillRect(from, place.top, to - from, place.height);
    ctx.globalAlpha = 0.55;
    if (item.hatch)
      stroke(ctx, item.colour, 1.2, "", () => {
        for (let at = from - place.height; at < to + place.height; at += 12) {
          const lean = item.hatch === "/" ? place.height : -place.height;
          ctx.moveTo(at, place.top + place.height);
          ctx.lineTo(at + lean, place.top);
        }
      });
    ctx.restore();
    if (item.label) label(ctx, item.label, (from + to) / 2, place.top + 12, place, "center");
  },
  Line(ctx, item, place, row) {
    const x = row(item.x), y = row(item.y);
    stroke(ctx, item.colour, 2.4, item.dash, () => {
      for (let k = 0; k < x.length; k++) {
        if (item.look === "stems") ctx.moveTo(place.x(x[k]), place.y(0));
        if (k === 0 && item.look !== "stems") ctx.moveTo(place.x(x[0]), place.y(y[0]));
        else ctx.lineTo(place.x(x[k]), place.y(y[k]));
      }
    });
    if (item.look === "line") return;
    ctx.fillStyle = item.colour;
    for (let k = 0; k < x.length; k++) {
      ctx.beginPath();
      ctx.arc(place.x(x[k]), place.y(y[k]), item.look === "stems" ? 4 : 3, 0, 2 * Math.PI);
      ctx.fill();
    }
  },
  Marks(ctx, item, place, row) {
    const x = row(item.x), y = row(item.y);
    ctx.fillStyle = item.colour;
    for (let k = 0; k < x.length; k++)
      if (item.symbol === ".") ctx.fillRect(place.x(x[k]) - 1.5, place.y(y[k]) - 1.5, 3, 3);  // there may be thousands
      else symbol(ctx, item.symbol, place.x(x[k]), place.y(y[k]), item.colour);
  },
  Level(ctx, item, place) {
    const at = item.upright ? place.x(item.at) : place.y(item.at);
    stroke(ctx, item.colour, 2, item.dash, () => {
      if (item.upright) { ctx.moveTo(at, place.top); ctx.lineTo(at, place.top + place.height); }
      else { ctx.moveTo(place.left, at); ctx.lineTo(place.left + place.width, at); }
    });
    if (!item.label) return;
    if (item.upright) {
      const side = at > place.left + 0.6 * place.width ? "right" : "left";
      label(ctx, item.label, at + (side === "left" ? 7 : -7), place.top + 34, place, side);
    } else label(ctx, item.label, place.left + place.width - 4, at - 11, place, "right");
  },
  Words(ctx, item, place, row) {
    const x = row(item.x);
    ctx.font = item.large ? LARGE : SMALL;
    ctx.fillStyle = item.colour;
    ctx.textAlign = item.align;
    ctx.textBaseline = "middle";
    for (let k = 0; k < x.length; k++) ctx.fillText(item.texts[k], place.x(x[k]), place.y(item.y));
  },
  Tiles: drawTiles,
};

// A label on white, so that it is read over lines and hatching.
function label(ctx, words, x, y, place, side) {
  ctx.font = SMALL;
  const width = ctx.measureText(words).width;
  const shift = { left: 0, center: -width / 2, right: -width }[side];
  const last = place.left + place.width - width - 2;
  const left = Math.max(place.left + 2, Math.min(x + shift, last));
  ctx.fillStyle = "rgba(255,255,255,0.85)";
  ctx.fillRect(left - 3, y - 10, width + 6, 20);
  ctx.fillStyle = INK;
  ctx.textAlign = "left";
  ctx.textBaseline = "middle";
  ctx.fillText(words, left, y);
}

function drawHead(ctx, made, row) {
  made.head.forEach((things, k) => {
    const y = made.headTop + 26 * k + 15;
    for (const { thing, at } of things) {
      const x = 8 + at;
      ctx.textAlign = "left";
      ctx.textBaseline = "middle";
      ctx.fillStyle = INK;
      if (thing.title) { ctx.font = BOLD; ctx.fillText(thing.title, x, y); continue; }
      const item = thing.item;
      if (item.kind === "Marks") symbol(ctx, item.symbol, x + 14, item.symbol === "v" ? y + 7 : y, item.colour);
      else if (item.kind === "Tiles") fillTiles(ctx, [[x + 4, y - 9, 20, 18]], item);
      else stroke(ctx, item.colour, 2.6, item.dash, () => { ctx.moveTo(x, y); ctx.lineTo(x + 28, y); });
      ctx.font = SMALL;
      ctx.fillStyle = INK;
      ctx.textAlign = "left";
      ctx.fillText(item.name, x + 34, y);
    }
  });
}

function drawAxes(ctx, made) {
  const { pane, place } = made;
  const bottom = place.top + place.height;
  ctx.font = SMALL;
  ctx.fillStyle = INK;
  for (const at of pane.grid)
    stroke(ctx, "#8a8a8a", 1, "dot", () => { ctx.moveTo(place.x(at), place.top); ctx.lineTo(place.x(at), bottom); });
  if (pane.bare) {
    ctx.textAlign = "right";
    ctx.textBaseline = "middle";
    ctx.fillText(pane.y_label, place.left - 8, place.top + place.height / 2);
  } else drawLevels(ctx, pane, place);
  if (!pane.bare || made.labelled)
    stroke(ctx, INK, 1.2, "", () => { ctx.moveTo(place.left, bottom); ctx.lineTo(place.left + place.width, bottom); });
  if (made.labelled) drawPlaces(ctx, pane, place, bottom);
}

function drawLevels(ctx, pane, place) {
  const bottom = place.top + place.height;
  ctx.textAlign = "right";
  ctx.textBaseline = "middle";
  for (const [at, word] of evenTicks(...pane.y_span, Math.min(5, place.height / 28))) {
    stroke(ctx, PALE, 0.8, "", () => { ctx.moveTo(place.left, place.y(at)); ctx.lineTo(place.left + place.width, place.y(at)); });
    ctx.fillText(word, place.left - 8, place.y(at));
  }
  stroke(ctx, INK, 1.2, "", () => { ctx.moveTo(place.left, place.top); ctx.lineTo(place.left, bottom); });
  ctx.save();
  ctx.translate(12, place.top + place.height / 2);
  ctx.rotate(-Math.PI / 2);
  ctx.textAlign = "center";
  ctx.fillText(pane.y_label, 0, 0);
  ctx.restore();
}

function drawPlaces(ctx, pane, place, bottom) {
  ctx.textAlign = "center";
  ctx.textBaseline = "top";
  const ticks = pane.log_x ? logTicks(...pane.x_span) : evenTicks(...pane.x_span, place.width / 80);
  for (const [at, word] of ticks) {
    stroke(ctx, INK, 1.2, "", () => { ctx.moveTo(place.x(at), bottom); ctx.lineTo(place.x(at), bottom + 5); });
    ctx.fillText(word, place.x(at), bottom + 8);
  }
  ctx.fillText(pane.x_label, place.left + place.width / 2, bottom + 28);
}

function drawPane(ctx, made, row) {
  const { pane, place } = made;
  drawHead(ctx, made, row);
  drawAxes(ctx, made);
  ctx.save();
  ctx.beginPath();
  ctx.rect(place.left - 1, place.top - 3, place.width + 2, place.height + 6);
  ctx.clip();
  const behind = (item) => item.kind === "Stretch" || item.kind === "Tiles";
  for (const item of pane.items.filter(behind)) DRAW[item.kind](ctx, item, place, row);
  for (const item of pane.items.filter((one) => !behind(one))) DRAW[item.kind](ctx, item, place, row);
  ctx.restore();
}

// A canvas that shows scenes; `picked(pane, x, y)` is told where someone points.
function makeScope(canvas, picked) {
  let plan = null, row = null, made = [];
  const redraw = () => {
    const width = canvas.clientWidth;
    if (!plan || !width) return;
    const dense = window.devicePixelRatio || 1;
    canvas.style.height = `${plan.height}px`;
    canvas.width = Math.round(width * dense);
    canvas.height = Math.round(plan.height * dense);
    const ctx = canvas.getContext("2d");
    ctx.scale(dense, dense);
    ctx.fillStyle = "white";
    ctx.fillRect(0, 0, width, plan.height);
    made = layOut(ctx, plan, width);
    for (const each of made) drawPane(ctx, each, row);
  };
  const point = (event) => {
    const box = canvas.getBoundingClientRect();
    const x = event.clientX - box.left, y = event.clientY - box.top;
    const inside = ({ place }) =>
      x >= place.left && x <= place.left + place.width && y >= place.top && y <= place.top + place.height;
    const number = made.findIndex(inside);
    if (number >= 0) picked(number, made[number].place.back(x), made[number].place.level(y));
  };
  let wide = 0;
  const watch = new ResizeObserver(() => {
    if (canvas.clientWidth !== wide) { wide = canvas.clientWidth; redraw(); }
  });
  watch.observe(canvas);
  canvas.addEventListener("click", point);
  return {
    show(newPlan, view) { plan = newPlan; row = rowsOf(view); redraw(); },
    close() { watch.disconnect(); canvas.removeEventListener("click", point); },
  };
}
