// Draws the description of a screen. It computes nothing of the work: words and numbers come from the daemon.

import { draw } from "./plot.js";
import { decimal, word } from "./words.js";

export const by = (id) => document.getElementById(id);

// Text alone: a name may hold anything.
export function make(name, properties, ...children) {
  const element = document.createElement(name);
  Object.assign(element, properties);
  element.append(...children.filter((child) => child !== undefined && child !== ""));
  return element;
}

// Sets a text only when it has changed, so that a screen reader says it once.
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

const shown = new Map();
// Replaces what an element holds when the data has changed.
function renew(id, data, children) {
  const text = JSON.stringify(data ?? null);
  if (shown.get(id) === text) return;
  shown.set(id, text);
  by(id).replaceChildren(...children());
}

const rooms = new Map();
// The room that a value has had in this step is kept, so that its size never jumps.
function room(step, value, index) {
  const key = `${step}/${index}`;
  const wanted = Math.max([...value.widest].length, [...value.value].length, rooms.get(key) ?? 3);
  rooms.set(key, wanted);
  return wanted;
}

export function values(frame) {
  const screen = frame.screen, box = by("values");
  const all = [...screen.must, ...(screen.may ? [screen.may] : [])];
  while (box.children.length > all.length) box.lastChild.remove();
  const rooms_of = all.map((value, i) => room(screen.title, value, i));
  const sum = (rooms) => rooms.reduce((a, b) => a + b, 0);
  const [row, rest] = [sum(rooms_of), sum(rooms_of.slice(1))];
  for (const [name, value] of [["--row", row], ["--rest", rest || row], ["--parts", all.length], ["--others", all.length - 1 || 1]]) box.style.setProperty(name, value);
  all.forEach((value, i) => {
    let part = box.children[i];
    if (!part) {
      part = make("div", { className: "value" }, make("h2"), make("output"), make("p"));
      part.children[1].setAttribute("aria-live", "off");
      box.append(part);
    }
    const [label, digits, under] = part.children;
    say(label, value.label);
    say(digits, value.value);
    say(under, value.under);
    digits.className = value.meaning;
    under.className = value.under_meaning;
    // Where there is no value yet there is none to cross out.
    part.className = value.current || /^-+$/.test(value.value) ? "value" : "value is-old";
    part.style.setProperty("--n", rooms_of[i]);
  });
}

// The bar that runs to zero. Its scale is a square root: hundreds of micrometres and the last one are both seen to move.
function bar(count) {
  const width = by("strip").clientWidth, post = Math.round(width / 5.5), space = width - post - 10, full = Math.max(Math.abs(count.full), 1);
  const length = (value) => Math.min(Math.sqrt(Math.abs(value) / full), 1.02) * space;
  const svg = draw("svg", { "aria-hidden": "true" });
  const past = count.to_go < 0;
  const long = past ? Math.min(length(count.to_go), post - 4) : length(count.to_go);
  svg.append(draw("rect", { x: past ? post - long : post, y: 8, width: Math.max(long, 0), height: 30, class: past ? "bar-past" : "bar-left" }));
  if (count.reached === "there") svg.append(draw("rect", { x: post - 9, y: 2, width: 18, height: 42, class: "bar-there" }));
  svg.append(draw("line", { x1: post, x2: post, y1: 0, y2: 46, class: "bar-post" }));
  svg.append(draw("text", { x: post, y: 62, "text-anchor": "middle" }, "0"));
  let free = post + 18;
  for (const power of full > 20 ? [1, 10, 100, 1000] : [0.1, 1, 10]) {
    for (const step of [1, 2, 5]) {
      const value = step * power, x = post + length(value);
      if (value > full || x < free || x > width - 14) continue;
      svg.append(draw("line", { x1: x, x2: x, y1: 38, y2: 46, class: "bar-tick" }));
      svg.append(draw("text", { x, y: 62, "text-anchor": "middle" }, decimal(+value.toFixed(1))));
      free = x + 34;
    }
  }
  return make("div", {}, make("p", { className: count.reached === "past" ? "past" : "counting" }, make("strong", {}, count.words)), svg);
}

function strip(frame, onPrint) {
  const { strip, advice } = frame.screen;
  renew("strip", [strip, advice.count, by("strip").clientWidth], () => {
    if (advice.count) return [bar(advice.count)];
    if (!strip.zones) return [];
    const names = [word("big-end"), word("middle"), word("small-end")];
    const zones = strip.zones.map((percent, i) => make("button", { type: "button", onclick: onPrint }, make("span", {}, names[i]), make("strong", {}, `${percent.toFixed(0)} %`)));
    return [make("div", { className: "zones" }, ...zones)];
  });
}

function listing(data) {
  renew("listing", data, () => {
    if (!data) return [];
    if (data.cells) return [make("p", {}, data.cells.heading), make("div", { className: "cells" }, ...data.cells.cells.map(([where, value]) => make("span", {}, make("b", {}, where), ` ${value}`)))];
    const { columns, rows } = data.table;
    const cell = (name) => (text, i) => make(name, { className: columns[i].right ? "right" : "", ...(name === "th" && { scope: "col" }) }, text);
    return [make("table", {}, make("thead", {}, make("tr", {}, ...columns.map((c, i) => cell("th")(c.name, i)))), make("tbody", {}, ...rows.map((row) => make("tr", {}, ...row.map(cell("td"))))))];
  });
  by("listed").hidden = !data;
}

const parts = (all) => all.reduce((text, part) => text + (text && !part.startsWith(" ") ? ", " : "") + part, "");

function entries(id, all) {
  renew(id, all, () => all.flatMap(([label, text]) => [make("dt", {}, label), make("dd", {}, text)]));
}

export function show(frame, onPrint) {
  const { screen } = frame;
  // A name may hold marks that turn the direction of what follows; they end with it.
  const name = frame.session && screen.title.startsWith(frame.session) ? frame.session : "";
  const rest = screen.title.slice(name.length);
  renew("title", screen.title, () => [make("bdi", {}, name), rest]);
  document.title = `${screen.must[0]?.value ?? ""} \u2068${name}\u2069${rest}`;
  say(by("source-name"), screen.source?.name ?? "");
  say(by("source-state"), screen.source?.state ?? "");
  by("source-state").className = screen.source?.current ? "now" : "old";
  const { banner } = screen;
  by("banner").hidden = !banner;
  if (banner) {
    say(by("banner"), parts([banner.word, ...banner.parts]));
    by("banner").className = `plate ${banner.meaning}`;
  }
  renew("notices", screen.notices, () => screen.notices.map((entry) => make("p", {}, make("b", {}, `${entry.label}: `), entry.text)));
  values(frame);
  say(by("advice-label"), screen.advice.label);
  // The terminal opens a session by a command, the page by its form.
  say(by("advice-text"), frame.session === null ? word("page-no-session") : screen.advice.text);
  strip(frame, onPrint);
  const { sign } = screen;
  renew("verdict", [sign, screen.undecided], () => sign
    ? [make("span", { className: `plate ${sign.meaning}` }, sign.word), make("span", {}, ` ${parts(sign.parts)}`)]
    : [make("span", {}, screen.undecided)]);
  entries("facts", [...screen.facts.map((fact) => [fact.label, parts(fact.parts)]), ...(screen.last.length ? [[word("watch-label-last"), parts(screen.last)]] : [])]);
  const next = screen.next?.place ?? "";
  renew("stations", [frame.stations, frame.stands_at, next], () => frame.stations.map(([name, mm]) => {
    const here = name === frame.stands_at, is_next = next === name || next.startsWith(`${name},`);
    const item = make("li", { className: is_next ? "next" : "" }, name, make("small", {}, `${decimal(+mm.toFixed(3))} mm`), make("small", {}, here ? word("page-indicator-here") : is_next ? word("page-next-here") : "\u00a0"));
    if (here) item.setAttribute("aria-current", "true");
    return item;
  }));
  by("where").hidden = !frame.stations.length || !["zero", "sweep"].includes(frame.kind);
  listing(screen.listing);
  entries("details", [...screen.plan.map((part) => [word("watch-label-plan"), part]), ...screen.details.map((d) => [d.label, d.text]), ...screen.remarks.map((r) => [word("page-label-remark"), r]), ...screen.budget.map((b) => [word("watch-label-budget"), b])]);
  by("more").hidden = !screen.plan.length && !screen.details.length;
}
