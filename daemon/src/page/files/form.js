// The form that opens a session.

import { ask, change, plan } from "./link.js";
import { by, make } from "./screen.js";
import { blame, forgive } from "./field.js";
import { word } from "./words.js";

// Name in the request, label, example or help, which choices it is offered with, whether these are all there is.
const FIELDS = [
  ["name", word("part-name"), "spindle 7"],
  ["taper", word("taper"), word("page-form-taper-help"), "tapers"],
  ["length", word("page-form-length"), "30"],
  ["tolerance", word("tolerance-fact"), "5arcsec, AT4, 2um", "tolerances"],
  ["bar", word("page-form-bar"), word("page-form-bar-help"), "bars"],
  ["bar_kind", word("page-form-bar-kind"), "", ["", "sine", "hinged", "tangent"]],
  ["kit", word("gauge-blocks"), "", "kits"],
  ["span", word("page-form-span"), "80"],
  ["fixture", word("fixture"), "plate", "fixtures"],
  ["big_end", word("page-form-big-end"), "", ["", "A", "B"]],
  ["indicator_side", word("page-form-side"), "", ["", "wheel", "opposite"]],
  ["cable", word("indicator"), "", "cables"],
  ["resolution", word("page-form-step"), "0.001"],
];
const WAIT_MS = 350;

let choices;

// A refusal names a field by the flag of the command line.
function field(of) {
  const drawn = control(of);
  drawn.dataset.flag = of[0].replaceAll("_", "-");
  drawn.dataset.label = of[1];
  return drawn;
}

function control([name, label, help, offered]) {
  const id = `field-${name}`;
  let input;
  if (Array.isArray(offered) || name === "cable") {
    const all = name === "cable" ? ["", ...choices.cables, "typed"] : offered;
    input = make("select", { id, name }, ...all.map((value) => make("option", { value }, value || word("page-not-stated"))));
  } else {
    input = make("input", { id, name, placeholder: help, maxLength: 200, required: name === "name" });
    if (offered) {
      input.setAttribute("list", `${id}-list`);
      return make("p", {}, make("label", { htmlFor: id }, label), input, make("datalist", { id: `${id}-list` }, ...choices[offered].map((value) => make("option", { value }))));
    }
  }
  return make("p", {}, make("label", { htmlFor: id }, label), input);
}

function stated() {
  const all = [...new FormData(by("open-form"))].map(([name, value]) => [name, value.trim()]);
  return Object.fromEntries(all.filter(([, value]) => value));
}

let asked = 0;
async function replan() {
  const own = ++asked;
  const { name: _, ...options } = stated();
  if (!Object.keys(options).length) return;
  let planned;
  try { planned = await plan(options); } catch { return; }
  // An answer to what was stated before is no news.
  if (own !== asked) return;
  const { body, ok } = planned;
  by("planned").replaceChildren(...(ok
    ? [...body.words.map((text) => make("p", {}, text)), make("p", { className: body.capability ? (body.capability.provable ? "good" : "bad") : "doubtful" }, make("strong", {}, body.can_prove))]
    : [make("p", { className: "doubtful" }, make("strong", {}, body.message)), make("p", { className: "hint" }, body.hint ?? "")]));
}

export async function open(done) {
  if (!choices) {
    const got = await ask("/page/choices");
    if (!got.ok) return done(got);
    choices = got.body;
    by("fields").replaceChildren(...FIELDS.map(field));
    let wait;
    by("fields").addEventListener("input", () => { forgive(by("open-form")); clearTimeout(wait); wait = setTimeout(replan, WAIT_MS); });
  }
  by("open-form").onsubmit = async (event) => {
    event.preventDefault();
    // A second press while the first is under way is none.
    by("open-yes").disabled = true;
    const opened = await change("/v1/sessions", stated());
    by("open-yes").disabled = false;
    if (opened.ok) by("open").close();
    else {
      by("planned").replaceChildren();
      blame(by("open-form"), opened.body, by("planned"));
    }
    done(opened);
  };
  by("open-no").onclick = () => by("open").close();
  by("open").showModal();
}
