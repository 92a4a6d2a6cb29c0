// The list of sessions, their records, and two of them side by side.

import { ask } from "./link.js";
import { by, make, say } from "./screen.js";
import { named } from "./step.js";
import { word } from "./words.js";

const WAIT_MS = 350;
const verdicts = { in: word("in-tolerance"), out: word("page-out"), undecided: word("undecided") };
const moment = (utc_ns) => `${new Date(utc_ns / 1e6).toISOString().slice(0, 16).replace("T", " ")} UTC`;

// Those that are to stand side by side, the one that was chosen first before the other.
let chosen = [];

function choose(session, box) {
  chosen = chosen.filter((one) => one !== session);
  if (box.checked) chosen.push(session);
  // A third takes the place of the first.
  const dropped = chosen.length > 2 ? chosen.shift() : undefined;
  if (dropped !== undefined) for (const other of by("found").querySelectorAll("input")) if (other.value === String(dropped)) other.checked = false;
  offer();
}

function offer() {
  by("beside").disabled = chosen.length !== 2;
  say(by("beside"), chosen.length === 2 ? word("page-side-by-side", { one: Math.max(...chosen), other: Math.min(...chosen) }) : word("page-choose-two"));
}

function row(line, records) {
  const links = records.flatMap((ending) => [make("a", { href: `/page/records/${line.session}/${ending}`, target: ending === "html" ? "_blank" : "", rel: "noopener" }, ending), " "]);
  const box = make("input", { type: "checkbox", value: line.session, checked: chosen.includes(line.session) });
  box.setAttribute("aria-label", word("page-set-beside", { session: line.session }));
  box.onchange = () => choose(line.session, box);
  const cells = [make("label", { className: "box" }, box, make("span", {}, String(line.session))), make("span", {}, line.name), make("span", {}, ...links), verdicts[line.verdict] ?? "", moment(line.opened_utc_ns), line.taper ?? "", (line.kinds ?? []).map(named).join(", ")];
  return make("tr", {}, ...cells.map((cell, i) => make("td", { className: i === 1 ? "name" : "" }, cell)));
}

const head = (names) => make("thead", {}, make("tr", {}, ...names.map((name) => make("th", { scope: "col" }, name))));
const wrong = ({ message, hint }) => make("p", { className: "bad" }, `${message} ${hint ?? ""}`);

async function list() {
  const part = by("search").value.trim();
  const [found, offered] = await Promise.all([ask(`/v1/sessions${part ? `?part=${encodeURIComponent(part)}` : ""}`), ask("/page/choices")]);
  if (!found.ok || !offered.ok) return by("found").replaceChildren(wrong((found.ok ? offered : found).body));
  const { sessions } = found.body;
  const listed = sessions.map((line) => line.session);
  chosen = chosen.filter((session) => listed.includes(session));
  offer();
  by("found").replaceChildren(sessions.length
    ? make("table", {}, head([word("page-column-number"), word("page-column-part"), word("page-column-record"), word("page-column-result"), word("page-column-opened"), word("page-column-taper"), word("page-column-steps")]), make("tbody", {}, ...sessions.map((line) => row(line, offered.body.records))))
    : make("p", {}, word("page-none-found")));
}

// A cell of two sessions side by side; the browser writes times as the list does.
function cell(said) {
  const text = said ? (said.utc_ns === undefined ? "" : moment(said.utc_ns)) + said.text : "–";
  return make("td", { className: "name" }, text);
}

async function pair() {
  // The later session is the one that is looked at.
  const [beside, own] = [...chosen].sort((a, b) => a - b);
  const got = await ask(`/page/beside/${own}/${beside}`);
  say(by("pair-title"), word("page-side-by-side", { one: own, other: beside }));
  by("pair-table").replaceChildren(got.ok
    ? make("table", {}, head([word("page-column-figure"), word("page-column-session", { session: got.body.this }), word("page-column-session", { session: got.body.beside })]), make("tbody", {}, ...got.body.rows.map((row) => make("tr", {}, make("th", { scope: "row" }, row.name), cell(row.this), cell(row.beside)))))
    : wrong(got.body));
  by("pair").showModal();
}

export function open() {
  let wait;
  chosen = [];
  offer();
  by("search").oninput = () => { clearTimeout(wait); wait = setTimeout(list, WAIT_MS); };
  by("beside").onclick = pair;
  by("pair-no").onclick = () => by("pair").close();
  by("sessions-no").onclick = () => by("sessions").close();
  by("sessions").showModal();
  list();
}
