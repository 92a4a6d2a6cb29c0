// Plots: the trace of the last minute on a canvas, and what was marked as vectors.

import { decimal, word } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";
export function draw(name, attributes, text) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== undefined) element.textContent = text;
  return element;
}

// Round numbers that divide a range into about `count` parts.
function ticks(low, high, count) {
  const rough = (high - low) / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((n) => n * power).find((n) => n >= rough * 0.999);
  const places = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const all = [];
  for (let n = Math.ceil(low / step - 1e-9); n * step <= high + step * 1e-9; n++) all.push([n * step, decimal((n * step).toFixed(places))]);
  return all;
}

function range(values, least) {
  let low = Math.min(...values), high = Math.max(...values);
  const lacking = least - (high - low);
  if (lacking > 0) { low -= lacking / 2; high += lacking / 2; }
  const air = (high - low) * 0.08;
  return [low - air, high + air];
}

const MINUTE = 60;
const GAP = 2; // A longer silence is a gap in the line.

// `points` are [t, value, place]; `marks` have t and a name.
export function trace(canvas, points, marks, now, unit) {
  const ratio = devicePixelRatio || 1, width = canvas.clientWidth, height = canvas.clientHeight;
  if (!width || !height) return;
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
  }
  const pen = canvas.getContext("2d"), style = getComputedStyle(canvas);
  const colour = (name) => style.getPropertyValue(name);
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.clearRect(0, 0, width, height);
  pen.font = "12px sans-serif";
  const seen = points.filter((p) => now - p[0] <= MINUTE);
  if (!seen.length) {
    pen.fillStyle = colour("--faint");
    pen.fillText(word("page-no-minute"), 8, height / 2);
    return;
  }
  const [low, high] = range(seen.map((p) => p[1]), unit === "in" ? 0.0002 : unit === "µm" ? 4 : 0.004);
  const left = 58, bottom = height - 18;
  const x = (t) => left + (width - left - 6) * (1 - (now - t) / MINUTE);
  const y = (v) => 6 + (bottom - 12) * (high - v) / (high - low);
  pen.strokeStyle = colour("--line");
  pen.fillStyle = colour("--ink");
  pen.lineWidth = 1;
  pen.textAlign = "right";
  pen.textBaseline = "middle";
  for (const [value, text] of ticks(low, high, 4)) {
    pen.beginPath(); pen.moveTo(left, y(value)); pen.lineTo(width - 6, y(value)); pen.stroke();
    pen.fillText(text, left - 5, y(value));
  }
  pen.textAlign = "center";
  pen.textBaseline = "bottom";
  for (const s of [60, 30, 0]) pen.fillText(s ? word("page-ago", { seconds: s }) : word("watch-now"), Math.min(Math.max(x(now - s), left + 24), width - 20), height);
  let named = -Infinity;
  for (const mark of marks) {
    if (now - mark.t > MINUTE) continue;
    pen.strokeStyle = colour("--past");
    pen.fillStyle = colour("--past");
    pen.setLineDash([4, 3]);
    pen.beginPath(); pen.moveTo(x(mark.t), 6); pen.lineTo(x(mark.t), bottom); pen.stroke();
    pen.setLineDash([]);
    // Where marks lie close, the names of some stand for all.
    if (x(mark.t) - named < 16) continue;
    named = x(mark.t);
    pen.textAlign = named > width - 40 ? "right" : "center";
    pen.fillText(mark.place, named, 18);
  }
  pen.strokeStyle = colour("--counting");
  pen.lineWidth = 2;
  pen.beginPath();
  let before = -Infinity;
  for (const [t, value] of seen) {
    if (t - before > GAP) pen.moveTo(x(t), y(value)); else pen.lineTo(x(t), y(value));
    before = t;
  }
  pen.stroke();
  const last = seen.at(-1);
  pen.fillStyle = colour("--counting");
  pen.beginPath(); pen.arc(x(last[0]), y(last[1]), 4, 0, 7); pen.fill();
}

const W = 480, H = 220;

export function line(plot) {
  const all = plot.series.flatMap((s) => s[1]);
  const svg = draw("svg", { viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": said(plot, all) });
  const xs = range(all.map((p) => p[0]), 1), ys = range([...all.map((p) => p[1]), ...(plot.limits ?? [0])], 1);
  const x = (v) => 58 + (W - 70) * (v - xs[0]) / (xs[1] - xs[0]);
  const y = (v) => 16 + (H - 56) * (ys[1] - v) / (ys[1] - ys[0]);
  for (const [value, text] of ticks(...ys, 5)) {
    svg.append(draw("line", { x1: 58, x2: W - 12, y1: y(value), y2: y(value), class: value === 0 ? "axis" : "grid" }));
    svg.append(draw("text", { x: 53, y: y(value) + 4, "text-anchor": "end" }, text));
  }
  for (const [value, text] of ticks(...xs, all.length > 3 ? 5 : 2)) {
    svg.append(draw("text", { x: x(value), y: H - 24, "text-anchor": "middle" }, text));
  }
  svg.append(draw("text", { x: W / 2, y: H - 6, "text-anchor": "middle" }, plot.x_label));
  svg.append(draw("text", { x: 4, y: 11 }, plot.y_label));
  for (const limit of plot.limits ?? []) svg.append(draw("line", { x1: 58, x2: W - 12, y1: y(limit), y2: y(limit), class: "limit" }));
  if (plot.limits) svg.append(draw("text", { x: W - 14, y: y(plot.limits[1]) - 4, "text-anchor": "end" }, word("watch-allowed")));
  plot.series.forEach(([name, points], i) => {
    const sorted = plot.kept ? points : [...points].sort((a, b) => a[0] - b[0]);
    if (sorted.length > 1) svg.append(draw("polyline", { points: sorted.map((p) => `${x(p[0]).toFixed(1)},${y(p[1]).toFixed(1)}`).join(" "), class: `series series-${i}` }));
    if (points.length < 60) for (const p of points) svg.append(draw("circle", { cx: x(p[0]), cy: y(p[1]), r: 4, class: `dot dot-${i}` }));
    if (name) svg.append(draw("text", { x: W - 14, y: 28 + 15 * i, "text-anchor": "end", class: `name-${i}` }, `${i ? "- - " : "— "}${name}`));
  });
  return svg;
}

function said(plot, all) {
  const last = all.at(-1);
  const at = last ? word("page-plot-last", { y: decimal(last[1].toFixed(1)), x: decimal(last[0].toFixed(2)) }) : "";
  return word("page-plot-said", { title: plot.title, points: all.length }) + at + word("page-plot-axes", { y: plot.y_label, x: plot.x_label });
}

// Round a turn: 12 o'clock is above, and the angle goes clockwise.
export function round(plot) {
  const S = 260, C = S / 2, levels = plot.points.map((p) => p[1]);
  const [low, high] = range(levels, 1), inner = 34, outer = 92;
  const r = (v) => inner + (outer - inner) * (v - low) / (high - low);
  const at = (deg, radius) => [C + radius * Math.sin(deg * Math.PI / 180), C - radius * Math.cos(deg * Math.PI / 180)];
  const high_words = plot.high_deg === undefined ? "" : word("page-round-high", { hour: decimal((plot.high_deg / 30 || 12).toFixed(1)) });
  const span = decimal((Math.max(...levels) - Math.min(...levels)).toFixed(1));
  const words = word("page-round-said", { title: plot.title, readings: levels.length, range: `${span} ${plot.unit}` });
  const svg = draw("svg", { viewBox: `0 0 ${S} ${S}`, role: "img", "aria-label": words + high_words });
  for (const [value, text] of ticks(low, high, 3)) {
    svg.append(draw("circle", { cx: C, cy: C, r: r(value), class: "grid" }));
    svg.append(draw("text", { x: C + 3, y: C - r(value) - 2 }, text));
  }
  for (let hour = 1; hour <= 12; hour++) {
    const [x, y] = at(hour * 30, 112);
    svg.append(draw("text", { x, y: y + 4, "text-anchor": "middle" }, hour));
  }
  const sorted = [...plot.points].sort((a, b) => a[0] - b[0]).map((p) => at(p[0], r(p[1])));
  const joined = sorted.map((p) => p.map((n) => n.toFixed(1)).join(",")).join(" ");
  if (sorted.length > 2) svg.append(draw("polygon", { points: joined, class: "series" }));
  if (sorted.length < 120) for (const [cx, cy] of sorted) svg.append(draw("circle", { cx, cy, r: 4, class: "dot" }));
  if (plot.high_deg !== undefined) {
    const [x2, y2] = at(plot.high_deg, outer + 8), [tx, ty] = at(plot.high_deg, 14);
    svg.append(draw("line", { x1: C, y1: C, x2, y2, class: "hand" }));
    svg.append(draw("text", { x: 4, y: S - 4 }, word("page-hand")));
    svg.append(draw("circle", { cx: tx, cy: ty, r: 2, class: "dot" }));
  }
  return svg;
}
