// Fields of the forms, and what is wrong with one of them: said under the field that the refusal names.

import { make } from "./screen.js";

// A flag as a label: `per-turn` is "Per turn".
export const label = (flag) => flag[0].toUpperCase() + flag.slice(1).replaceAll("-", " ");

// A text with its `words` set apart.
export const prose = (text) => text.split("`").map((part, i) => (i % 2 ? make("code", {}, part) : part));

const fields = (form) => [...form.querySelectorAll("[data-flag]")];

// Flags in a message are those of the command line; the form knows them by their labels.
function worded(form, text) {
  const labels = new Map(fields(form).map((field) => [field.dataset.flag, field.dataset.label]));
  return text.replace(/--([a-z]+(?:-[a-z]+)*)/g, (flag, name) => labels.get(name) ?? flag);
}

export function forgive(form) {
  for (const said of form.querySelectorAll(".blame")) said.remove();
  for (const control of form.querySelectorAll("[aria-invalid]")) {
    control.removeAttribute("aria-invalid");
    control.removeAttribute("aria-describedby");
  }
}

// The field that a refusal names: by the flag that comes first, or by quoting what was filled in.
function named(form, message) {
  const all = fields(form), flag = /--([a-z]+(?:-[a-z]+)*)/.exec(message)?.[1];
  if (flag) return all.find((field) => field.dataset.flag === flag);
  const quoted = (control) => control.value.trim() && message.includes(`\`${control.value.trim()}\``);
  return all.find((field) => [...field.querySelectorAll("input:not([type=radio], [type=checkbox]), input:checked, select")].some(quoted));
}

// Says what a refusal says: under the field that it names, else in `elsewhere`.
export function blame(form, refusal, elsewhere) {
  forgive(form);
  const field = named(form, refusal.message);
  const message = worded(form, refusal.message.replace(/^--[a-z-]+: /, ""));
  const said = make("p", { className: "blame bad", id: `${form.id}-blame` }, make("strong", {}, ...prose(message)), make("small", {}, ...prose(worded(form, refusal.hint ?? ""))));
  said.setAttribute("role", "alert");
  (field ?? elsewhere).append(said);
  if (!field) return said.scrollIntoView({ block: "nearest" });
  const folded = field.closest("details");
  if (folded) folded.open = true;
  for (const control of field.querySelectorAll("input, select")) {
    control.setAttribute("aria-invalid", "true");
    control.setAttribute("aria-describedby", said.id);
  }
  field.querySelector("input:checked, input:not([type=radio]), select")?.focus();
  field.scrollIntoView({ block: "nearest" });
}
