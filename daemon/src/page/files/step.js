// The form that opens a step. Which options there are, and what each takes, comes from the daemon.

import { ask, change, check } from "./link.js";
import { by, make } from "./screen.js";
import { blame, forgive, label, prose } from "./field.js";
import { word } from "./words.js";

let offered;
export async function prepare() {
  try {
    const got = await ask("/page/steps");
    if (got.ok) offered = got.body;
  } catch { /* The page says by itself that the link is lost. */ }
}

// Kept ready, so that the menu opens at once: the key that is pressed after it is meant for it. A cable that was configured since
// is there the next time.
export function kinds() {
  prepare();
  return offered?.kinds;
}

// The word of a kind, once the daemon has told it.
export const named = (kind) => offered?.kinds.find((one) => one.kind === kind)?.word ?? kind;

// Large buttons of which one is pressed. Nothing stated is one of them.
function choice(option, words, help) {
  const button = (value) => make("label", {}, make("input", { type: "radio", name: option.name, value, checked: !value }), make("span", {}, value || word("page-not-stated")));
  return make("fieldset", {}, make("legend", {}, label(option.flag)), help, make("div", { className: "words" }, ...["", ...words].map(button)));
}

const RANGES = { whole: "numeric", number: "decimal" };

function control(option) {
  const id = `option-${option.name}`;
  const help = make("small", { id: `${id}-help` }, ...prose(option.help));
  if (option.takes === "words") return choice(option, option.words, help);
  if (option.takes === "cable") return choice(option, [...offered.cables, "typed"], help);
  if (option.takes === "switch") {
    return make("div", {}, make("div", { className: "words" }, make("label", {}, make("input", { type: "checkbox", name: option.name }), make("span", {}, label(option.flag)))), help);
  }
  const input = make("input", { id, name: option.name, maxLength: 200, inputMode: RANGES[option.takes] ?? "text", autocomplete: "off", placeholder: option.limits ? word("page-range", { low: option.limits[0], high: option.limits[1] }) : "" });
  return make("div", {}, make("label", { htmlFor: id }, label(option.flag)), make("div", { className: "measure" }, input, option.unit ? make("span", {}, option.unit) : ""), help);
}

function drawn(option) {
  const field = control(option);
  field.classList.add("option");
  field.dataset.flag = option.flag;
  field.dataset.label = label(option.flag);
  return field;
}

// What was filled in, as the request that opens the step has it. What was not is left out.
function stated(kind) {
  const filled = new FormData(by("step-form"));
  const values = kind.options.map((option) => {
    const value = (filled.get(option.name) ?? "").trim();
    if (option.takes === "switch") return [option.name, filled.has(option.name) || undefined];
    if (option.takes === "lengths") return [option.name, value ? value.split(/[,;]/).map((one) => one.trim()) : undefined];
    return [option.name, value || undefined];
  });
  return { kind: kind.kind, ...Object.fromEntries(values) };
}

// Asks for the options of a kind, closes what is open when they are right, and opens it. `close` may say no.
export function open(kind, close, done) {
  const dialog = by("step"), form = by("step-form");
  by("step-title").textContent = word("page-step-title", { kind: kind.word });
  by("step-purpose").textContent = kind.purpose;
  by("step-usual").replaceChildren(...kind.options.filter((option) => option.usual).map(drawn));
  const rest = kind.options.filter((option) => !option.usual);
  by("step-rest").replaceChildren(...rest.map(drawn));
  by("step-more").hidden = !rest.length;
  by("step-more").open = false;
  by("step-said").replaceChildren();
  let sending = false;
  form.oninput = () => forgive(form);
  form.onsubmit = async (event) => {
    event.preventDefault();
    // A second press while the first is under way is none.
    if (sending) return;
    sending = true;
    try {
      const request = stated(kind);
      const fits = await check(request);
      if (!fits.ok) return blame(form, fits.body, by("step-said"));
      if (!(await close())) return;
      const opened = await change("/v1/steps", request);
      if (!opened.ok) return blame(form, opened.body, by("step-said"));
      dialog.close();
      done(opened);
    } catch {
      blame(form, { message: word("page-no-answer"), hint: word("page-try-again") }, by("step-said"));
    } finally { sending = false; }
  };
  by("step-no").onclick = () => dialog.close();
  dialog.showModal();
  // As it is, a step opens with one more press.
  by("step-yes").focus();
}
