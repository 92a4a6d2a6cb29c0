// The page: buttons, keys and dialogs send requests; frames from the daemon are drawn.

import { change, enter, follow } from "./link.js";
import { by, make, say, show, values } from "./screen.js";
import { line, round, trace } from "./plot.js";
import * as form from "./form.js";
import * as sessions from "./sessions.js";
import * as step from "./step.js";
import * as sound from "./sound.js";
import { word } from "./words.js";

// The same key or button does nothing again for so long: a held one would mark the wrong station.
const PAUSE_MS = 1000;

const STAYS_MS = 3000; // What was said of the last press, when another step has come since.

let toldAt = 0, frame, clock, mayMark = false, busy = false, newRound = false, last = {}, points = [];

function tell(text, hint, refused) {
  toldAt = performance.now();
  const box = by("message");
  box.className = refused ? "refused" : "";
  box.replaceChildren(make("span", {}, text), ...(hint ? [make("small", {}, hint)] : []));
}

function told(answer, done) {
  if (answer.ok) tell(done(answer.body));
  else if (answer.body.code !== "cancelled") {
    tell(answer.body.message, answer.body.hint, true);
    sound.heard.refused();
  }
  return answer.ok;
}

async function act(path, body, done) {
  // While a mark waits for rest, anything else overtakes it.
  if (busy && !frame?.asked) return false;
  busy = true;
  try { return told(await change(path, body), done); } finally { busy = false; }
}

// Asks in a dialog; gives what was filled in, or nothing for no.
function ask(title, text, yes, fields = [], ready = () => true) {
  const dialog = by("ask");
  say(by("ask-title"), title);
  say(by("ask-text"), text);
  say(by("ask-yes"), yes);
  by("ask-fields").replaceChildren(...fields);
  dialog.returnValue = "no";
  dialog.showModal();
  // Opened while another dialog closes, it would get no focus by itself.
  (dialog.querySelector("input, textarea, #ask-fields button") ?? by("ask-yes")).focus();
  return new Promise((resolve) => {
    dialog.onclose = () => resolve(dialog.returnValue === "yes" && ready());
  });
}

function pick(title, all) {
  const dialog = by("pick");
  say(by("pick-title"), title);
  by("picks").replaceChildren(...all.map(([value, name, what]) => make("button", { type: "submit", value }, make("span", {}, name), make("small", {}, what))));
  dialog.returnValue = "";
  dialog.showModal();
  return new Promise((resolve) => { dialog.onclose = () => resolve(dialog.returnValue); });
}

function input(id, label, help, first = "") {
  const field = make("input", { id, value: first, maxLength: 60, inputMode: "text", autocomplete: "off" });
  return [field, make("p", {}, make("label", { htmlFor: id }, label, make("small", {}, help)), field)];
}

async function print() {
  const names = [word("page-big-end"), word("page-middle"), word("page-small-end")], zones = [undefined, undefined, undefined];
  const fields = names.map((name, i) => {
    const buttons = [0, 25, 50, 75, 100].map((percent) => make("button", { type: "button" }, `${percent}`));
    const own = make("input", { type: "number", min: 0, max: 100, step: "any", inputMode: "decimal", required: true });
    own.setAttribute("aria-label", word("page-zone", { zone: name }));
    const set = (percent) => {
      zones[i] = percent;
      buttons.forEach((b) => b.setAttribute("aria-pressed", String(b.textContent === `${percent}`)));
    };
    buttons.forEach((b) => { b.setAttribute("aria-pressed", "false"); b.onclick = () => { own.value = b.textContent; set(b.textContent); }; });
    own.oninput = () => set(own.value);
    return make("fieldset", {}, make("legend", {}, word("page-zone", { zone: name })), make("div", { className: "zone" }, ...buttons), own);
  });
  if (await ask(word("page-judge"), word("page-how-much"), word("page-mark-print"), fields)) mark({ station: zones.join(",") });
}

// Closes the step that is open; false when the user would rather keep it.
async function closed() {
  if (!frame.kind) return true;
  if (frame.loses && !(await ask(word("page-close-step"), frame.loses, word("page-close-it")))) return false;
  return act("/v1/steps/current/close", {}, (body) => word("page-step-closed", { step: body.number }));
}

async function mark(more = {}) {
  const made = await act("/v1/marks", { new_round: newRound, ...more }, (body) => {
    return word("page-marked", body) + (body.note ? `. ${body.note}` : "");
  });
  if (made) { newRound = false; sound.heard.marked(); }
}

async function typed(first = "") {
  const [value, valueField] = input("typed-value", word("page-reading"), word("page-reading-help"), first);
  const [place, placeField] = input("typed-place", word("page-place"), frame.needs_place ? frame.screen.next?.place ?? "" : word("page-place-help", { place: frame.screen.next?.place ?? word("page-the-next"), wanted: frame.place_wanted }));
  value.required = frame.typed;
  place.required = frame.needs_place;
  const wanted = await ask(word("page-type-title"), "", word("page-mark"), [valueField, placeField], () => ({ value: value.value.trim() || undefined, station: place.value.trim() || undefined }));
  if (wanted) mark(wanted);
}

const actions = {
  mark() {
    if (!frame?.kind) return tell(word("page-no-step"), word("page-opens-step"), true);
    if (frame.asked) return mark();
    if (frame.by_eye) return print();
    if (frame.typed || frame.needs_place) return typed();
    return mark();
  },
  async undo() {
    if (frame?.asked) return act("/v1/presses/leave", {}, () => word("page-dropped"));
    if (!frame?.mark) return tell(word("watch-nothing-to-undo"), undefined, true);
    if (await ask(word("page-take-back"), frame.screen.last.join(", "), word("page-take-it-back"))) {
      act("/v1/marks/undo", {}, (body) => word("page-taken-back", body));
    }
  },
  go() { return act("/page/go", {}, () => word("page-stands-at", { place: frame.target })); },
  clamp() {
    const tight = !frame?.clamped;
    return act("/v1/clamp", { tight }, () => (tight ? word("page-tight") : word("watch-clamp-loose")));
  },
  ground() { return act("/v1/ground", {}, (body) => (body.next ? word("page-ground-now") : word("page-ground-before", { mark: body.before_mark }))); },
  async next() {
    if (!frame?.session) return form.open((answer) => told(answer, (body) => word("page-session-open", body)));
    const kinds = step.kinds();
    if (!kinds) return tell(word("page-no-kinds"), word("page-press-again"), true);
    const picked = await pick(word("page-open-a-step"), kinds.map(({ kind, word, purpose }, i) => [kind, word[0].toUpperCase() + word.slice(1), `${i + 1}: ${purpose}`]));
    const kind = kinds.find(({ kind }) => kind === picked);
    if (kind) step.open(kind, closed, (answer) => told(answer, (body) => word("page-step-open", { step: body.number })));
  },
  round() { newRound = !newRound; tell(newRound ? word("page-round-begins") : word("page-round-goes-on")); redraw(); },
  async note() {
    const text = make("textarea", { id: "note", maxLength: 2000, rows: 5, required: true });
    const wanted = await ask(word("page-write-note"), word("page-into-record"), word("page-keep-it"), [make("p", {}, make("label", { htmlFor: "note" }, word("page-note")), text)], () => text.value.trim());
    if (wanted) act("/v1/notes", { text: wanted }, () => word("note-kept"));
  },
  async menu() {
    const some = (wanted, ...entry) => (wanted ? [entry] : []);
    const what = await pick(word("page-menu"), [
      ...some(mayMark && frame?.kind, "typed", word("page-menu-typed"), word("page-menu-typed-what")),
      ...some(mayMark && frame?.kind, "round", word("page-menu-round"), word("page-menu-round-what")),
      ...some(mayMark && frame?.session, "note", word("page-note"), word("page-menu-note-what")),
      ...some(mayMark && frame?.kind, "close", word("page-menu-close"), word("page-menu-close-what")),
      ...some(mayMark && frame?.session, "end", word("page-menu-end"), word("page-menu-end-what")),
      ...some(mayMark && !frame?.session, "open", word("page-open-title"), word("page-menu-open-what")),
      ["sessions", word("page-sessions"), word("page-menu-sessions-what")],
    ]);
    if (what === "typed") typed();
    if (what === "round") actions.round();
    if (what === "note") actions.note();
    if (what === "open") actions.next();
    if (what === "sessions") sessions.open();
    if (what === "close") closed();
    if (what === "end" && await ask(word("page-end-title"), frame.loses ?? word("page-end-text"), word("page-close-it"))) act("/v1/sessions/current/close", {}, (body) => word("page-session-closed", body));
  },
};
const KEYS = { " ": "mark", Enter: "mark", u: "undo", g: "go", c: "clamp", o: "ground", s: "next", r: "round", n: "note" };

const done = {};
function press(name) {
  const now = performance.now();
  if (now - (done[name] ?? -PAUSE_MS) < PAUSE_MS) return;
  done[name] = now;
  actions[name]();
}

for (const name of ["mark", "undo", "go", "clamp", "ground", "next", "menu"]) by(name).onclick = () => press(name);
by("sound").onclick = () => {
  const on = sound.turn(!sound.on());
  say(by("sound"), on ? word("page-sound-on") : word("page-sound-off"));
  by("sound").setAttribute("aria-pressed", String(on));
};
document.addEventListener("keydown", (event) => {
  if (!mayMark || event.repeat || event.ctrlKey || event.altKey || event.metaKey || document.querySelector("dialog[open]")) return;
  // A button that has the focus is pressed by these keys.
  if ((event.key === " " || event.key === "Enter") && event.target.closest?.("button, summary, a")) return;
  if (/^[0-9+\-.,]$/.test(event.key) && frame?.kind) {
    event.preventDefault();
    return frame.by_eye ? print() : typed(event.key);
  }
  if (KEYS[event.key]) { event.preventDefault(); press(KEYS[event.key]); }
});
// In the menu of steps a digit picks one.
by("pick").addEventListener("keydown", (event) => {
  const button = /^[1-9]$/.test(event.key) && by("picks").children[event.key - 1];
  if (!button) return;
  event.preventDefault();
  // The menu is closed when the page itself hears the digit, which would then begin a typed reading.
  event.stopPropagation();
  by("pick").close(button.value);
});

let recorded;
// While every reading counts, the profile grows: over the table's position where that is measured, else over time.
function grown(now) {
  if (!now.recording_since) { recorded = undefined; return undefined; }
  if (recorded?.since !== now.recording_since) recorded = { since: now.recording_since, points: points.filter((p) => p[0] >= now.recording_since) };
  if (now.now && recorded.points.at(-1)?.[0] !== now.now[0]) recorded.points.push(now.now);
  // Of a long recording every second point will do.
  if (recorded.points.length > 4000) recorded.points = recorded.points.filter((_, i) => i % 2);
  const first = recorded.points[0];
  if (!first) return undefined;
  const unit = now.screen.must[0]?.under.split(",")[0] ?? "", small = unit === "in" ? 1e6 : unit === "µm" ? 1 : 1e3, name = unit === "in" ? "µin" : "µm";
  const rise = (p) => (p[1] - first[1]) * small;
  const turns = now.marked.map((m) => m.t);
  if (now.kind === "runout" && turns.length > 1) {
    // The last two times that the line came by tell how fast it turns.
    const [from, to] = turns.slice(-2);
    const of_turn = recorded.points.filter((p) => p[0] >= Math.max(from, now.now[0] - (to - from)));
    return { form: "round", title: word("page-as-it-turns"), unit: name, points: of_turn.map((p) => [((p[0] - from) / (to - from) * 360) % 360, rise(p)]) };
  }
  const placed = first[2] !== null && now.kind === "sweep";
  return { form: "line", title: word("page-as-recorded"), x_label: placed ? word("live-axis-table") : word("live-axis-since"), y_label: word("live-axis-from-first", { unit: name }), kept: true, series: [["", recorded.points.map((p) => [placed ? p[2] : p[0] - first[0], rise(p)])]] };
}

let plotted;
function plot() {
  const data = grown(frame) ?? frame.plot, text = JSON.stringify(data ?? null);
  by("plot-box").hidden = !data;
  // Of a zero step the readings matter more, of the others what was marked.
  by("plot-box").style.order = frame.kind === "zero" ? 0 : -1;
  if (text === plotted) return;
  plotted = text;
  if (!data) return;
  say(by("plot-title"), data.title);
  by("plot").replaceChildren(data.form === "round" ? round(data) : line(data));
}

function buttons() {
  const now = frame ?? {};
  const next = now.screen?.next;
  say(by("mark-word"), now.asked ? (now.screen.banner ? word("page-marking") : word("page-yes-a-mark")) : now.by_eye ? word("page-judge") : word("page-mark"));
  say(by("mark-place"), next ? (newRound ? word("live-next-new-round", { place: next.place.split(",")[0] }) : next.place) : "");
  by("mark").disabled = !now.kind;
  by("undo").disabled = !now.mark && !now.asked;
  by("undo").firstChild.data = `${now.asked ? word("page-drop") : word("page-undo")} `;
  by("go").disabled = !now.target || now.target === now.stands_at;
  say(by("clamp-word"), now.clamped ? word("page-clamp-loose") : word("page-clamp-tight"));
  by("clamp").disabled = !now.session;
  by("ground").disabled = !now.kind;
  by("next").firstChild.data = `${now.session ? word("page-next-step") : word("page-open-session")} `;
}

let due = false;
function redraw() {
  if (due || !frame) return;
  due = true;
  requestAnimationFrame(() => {
    due = false;
    show(frame, () => mayMark && print());
    plot();
    buttons();
    by("trace-box").hidden = frame.typed || frame.by_eye;
    trace(by("trace"), points, frame.marked, clock.now(), frame.screen.must[0]?.under.split(",")[0]);
  });
}

function hear(now) {
  const inside = now.screen.sign?.meaning === "good", live = now.screen.source?.current ?? true;
  if (last.frame && inside && !last.inside) sound.heard.inside();
  if (last.frame && !live && last.live) sound.heard.lost();
  last = { frame: true, inside, live };
  sound.follow(live ? now.screen.advice.count : undefined);
}

let lock;
// The screen stays on while a step is open; a browser allows that over HTTPS and on this computer only.
async function stayAwake() {
  const wanted = Boolean(frame?.kind) && !document.hidden;
  try {
    if (wanted && !lock && navigator.wakeLock) {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = undefined; });
    } else if (!wanted && lock) { await lock.release(); }
  } catch { /* A tablet that is short of power refuses; its own setting holds then. */ }
}
document.addEventListener("visibilitychange", stayAwake);

// Where the browser does not allow it, the user has to: said once on each tablet.
const KEPT = "screen-told";
const remembered = () => { try { return localStorage.getItem(KEPT) !== null; } catch { return false; } };
let toldOfSleep = navigator.wakeLock !== undefined || !matchMedia("(pointer: coarse)").matches || remembered();
function tellOfSleep() { by("sleeps").hidden = toldOfSleep || !frame?.kind; }
by("sleeps-yes").onclick = () => {
  toldOfSleep = true;
  try { localStorage.setItem(KEPT, "yes"); } catch { /* A browser that keeps nothing is told again. */ }
  tellOfSleep();
};

try {
  mayMark = await enter();
  document.body.classList.toggle("views", !mayMark);
  step.prepare();
  clock = follow({
    frame(now) {
      if (frame?.screen.title !== now.screen.title && performance.now() - toldAt > STAYS_MS) tell("");
      frame = now;
      if (now.now) {
        if (points.at(-1)?.[0] !== now.now[0]) {
          points.push(now.now);
          clock.at(now.now[0]);
        }
        while (points.length && now.now[0] - points[0][0] > 60) points.shift();
      }
      // The digits wait for nothing else.
      values(now);
      hear(now);
      stayAwake();
      tellOfSleep();
      redraw();
    },
    trace(all) { points = all; redraw(); },
    beat: redraw,
    lost(seconds) {
      by("lost").hidden = false;
      say(by("lost"), word("page-lost", { seconds: Math.round(seconds) }));
      by("work").classList.add("is-old");
      say(by("source-state"), word("page-link-lost"));
      by("source-state").className = "old";
      if (last.live) sound.heard.lost();
      last.live = false;
      sound.follow(undefined);
    },
    back() { by("lost").hidden = true; by("work").classList.remove("is-old"); },
    invalid: refuse,
  });
} catch (refusal) { refuse(refusal); }

function refuse(refusal) {
  by("lost").hidden = false;
  by("work").classList.add("is-old");
  say(by("lost"), `${refusal.message ?? word("page-no-answer")}. ${refusal.hint ?? word("page-load-again")}`);
  document.body.classList.add("views");
}
