/**
 * Forms: a list of fields becomes labelled inputs; what the server refuses is said at its field.
 *
 * @typedef {{name: string, label: string, type?: string, options?: [string, string][], help?: string,
 *   needed?: boolean, measure?: {show: Function, read: Function}, showIf?: (values: Object) => boolean}} FieldSpec
 */

import { element, freshId, redraw } from "./dom.js";
import { cardPhoto } from "./card_photo.js";
import { coloursInput } from "./colours_input.js";

/**
 * @param {FieldSpec[]} specs
 * @param {Object} values
 * @param {(values: Object) => Promise<{field: string | null, message: string}[]>} save answers what was refused
 * @param {{words: string, more?: Node[]}} how
 */
export function form(specs, values, save, { words, more = [] }) {
  const fields = specs.map((spec) => ({ spec, ...fieldFor(spec, values[spec.name]) }));
  const general = element("div", { class: "problem", role: "alert", tabindex: "-1", hidden: true });
  const send = element("button", { type: "submit", class: "primary" }, words);
  const node = element(
    "form",
    { novalidate: true, class: "fields" },
    general,
    fields.map(({ row }) => row),
    element("div", { class: "action-bar" }, more, send),
  );
  const read = () => Object.fromEntries(fields.map(({ spec, read: one }) => [spec.name, one()]));
  const showWhatApplies = () => {
    const now = read();
    for (const { spec, row } of fields) row.hidden = Boolean(spec.showIf && !spec.showIf(now));
  };
  node.addEventListener("change", showWhatApplies);
  node.addEventListener("submit", async (event) => {
    event.preventDefault();
    clearProblems(fields, general);
    send.disabled = true;
    try {
      showProblems(fields, general, await save(read()));
    } catch (problem) {
      showProblems(fields, general, [{ field: problem.field ?? null, message: problem.message }]);
    } finally {
      send.disabled = false;
    }
  });
  showWhatApplies();
  return node;
}

function clearProblems(fields, general) {
  general.hidden = true;
  for (const { say } of fields) say("");
}

function showProblems(fields, general, problems) {
  const homeless = [];
  let first = null;
  for (const { field, message } of problems) {
    const home = fields.find(({ spec }) => spec.name === field);
    if (!home) homeless.push(message);
    home?.say(message);
    if (home && home.row.hidden) home.row.hidden = false;
    first ??= home?.focus;
  }
  if (homeless.length) {
    general.hidden = false;
    redraw(
      general,
      homeless.map((message) => element("p", {}, message)),
    );
    first ??= () => general.focus();
  }
  first?.();
}

/** One field: its row, how to read it, how to say what is wrong with it. */
function fieldFor(spec, value) {
  const id = freshId(spec.name);
  const { control, read, focus } = controlFor(spec, value, id);
  const problem = element("p", { class: "field-problem", id: `${id}-problem`, "aria-live": "polite" });
  const help = spec.help ? element("p", { class: "help", id: `${id}-help` }, spec.help) : null;
  control.setAttribute("aria-describedby", `${help ? help.id : ""} ${problem.id}`.trim());
  const label = element(
    spec.type === "colours" ? "span" : "label",
    { for: id, id: `${id}-label` },
    spec.label,
  );
  const row = element(
    "div",
    { class: `field ${spec.type ?? "text"}`, "data-field": spec.name },
    label,
    help,
    control,
    spec.type === "card_code" && cardPhoto((code) => (control.value = code)),
    problem,
  );
  const say = (message) => {
    problem.textContent = message;
    if (message) control.setAttribute("aria-invalid", "true");
    else control.removeAttribute("aria-invalid");
  };
  return { row, read, say, focus };
}

function controlFor(spec, value, id) {
  if (spec.type === "colours") return coloursInput(spec.label, value ?? [], id);
  const control = plainControl(spec, id);
  if (spec.type === "yes") {
    control.checked = Boolean(value);
    return { control, read: () => control.checked, focus: () => control.focus() };
  }
  const shown = spec.measure && typeof value === "number" ? String(spec.measure.show(value)) : (value ?? "");
  control.value = shown;
  const read = () => (spec.measure ? measured(spec, control.value, shown, value) : typed(spec, control.value));
  return { control, read, focus: () => control.focus() };
}

function plainControl(spec, id) {
  if (spec.options)
    return element(
      "select",
      { id },
      spec.options.map(([key, words]) => element("option", { value: key }, words)),
    );
  if (spec.type === "long") return element("textarea", { id, rows: 3 });
  if (spec.type === "yes") return element("input", { id, type: "checkbox" });
  if (spec.type === "day") return element("input", { id, type: "date" });
  const mode = { whole: "numeric", number: "decimal", decimal: "decimal" }[spec.type];
  return element("input", { id, type: "text", inputmode: mode, autocomplete: "off" });
}

/** In the unit in which it is kept. What was not touched stays as it was: going there and back would round it. */
function measured(spec, text, shown, value) {
  if (text === String(shown)) return value ?? null;
  const given = typed(spec, text);
  return typeof given === "number" ? spec.measure.read(given) : given;
}

/** A number where it is one; else what was typed, so that the server can say what is wrong with it. */
function typed(spec, text) {
  const trimmed = text.trim();
  if (trimmed === "") return null;
  const plain = trimmed.replace(",", ".");
  const isNumber = ["whole", "number"].includes(spec.type) && /^-?\d+(\.\d+)?$/.test(plain);
  return isNumber && Number.isFinite(Number(plain)) ? Number(plain) : trimmed;
}
