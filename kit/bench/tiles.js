// Tiles of a scene: bits, bytes, blocks and points of a picture, of which there may be hundreds.

function drawTiles(ctx, item, place, row) {
  const x = row(item.x), y = row(item.y), shades = row(item.shades);
  const boxes = Array.from(x, (left, k) => {
    const from = place.x(left), top = place.y(y[k] + item.height);
    return [from, top, place.x(left + item.width) - from, place.y(y[k]) - top];
  });
  if (shades.length) boxes.forEach((box, k) => {
    const grey = Math.round(255 * Math.min(1, Math.max(0, shades[k])));
    ctx.fillStyle = `rgb(${grey},${grey},${grey})`;
    ctx.fillRect(box[0], box[1], box[2] + 0.6, box[3] + 0.6);  // no white between neighbours
  });
  else fillTiles(ctx, boxes, item);
}

// Tint, hatching and edges of all at once, and the letter on each.
function fillTiles(ctx, boxes, item) {
  if (!boxes.length) return;
  ctx.save();
  ctx.beginPath();
  for (const box of boxes) ctx.rect(...box);
  ctx.globalAlpha = 0.16;
  ctx.fillStyle = item.colour;
  ctx.fill();
  ctx.globalAlpha = 0.6;
  ctx.lineWidth = 1;
  ctx.strokeStyle = item.colour;
  ctx.stroke();
  ctx.clip();
  ctx.globalAlpha = item.letter ? 0.3 : 0.6;  // a letter must be read over it
  const left = Math.min(...boxes.map((box) => box[0])), right = Math.max(...boxes.map((box) => box[0] + box[2]));
  const top = Math.min(...boxes.map((box) => box[1])), bottom = Math.max(...boxes.map((box) => box[1] + box[3]));
  const leans = { "/": [1], "\\": [-1], x: [1, -1] }[item.hatch] || [];
  for (const lean of leans)
    stroke(ctx, item.colour, 1.1, "", () => {
      for (let at = left - (bottom - top); at < right + (bottom - top); at += 7) {
        ctx.moveTo(at, bottom);
        ctx.lineTo(at + lean * (bottom - top), top);
      }
    });
  ctx.restore();
  if (!item.letter) return;
  const [, , wide, high] = boxes[0];
  const size = Math.floor(Math.min(15, 1.2 * wide, 0.85 * high));
  if (size < 7) return;
  ctx.font = `600 ${size}px ${TYPE}`;
  ctx.fillStyle = INK;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  for (const box of boxes) ctx.fillText(item.letter, box[0] + box[2] / 2, box[1] + box[3] / 2 + 1);
}
