/** How a file is to be read, as guessed and as a person says: its columns and the like, each told on when it is changed. */

import { element, freshId } from "../dom.js";

const NOWHERE = ["", "not in the file"];

/** @param {Object} answer headings, sample and choices as the server read them @param {[string, string][]} columns names and labels */
export function columnChoices({ choices, headings, sample }, columns, tell) {
  const names = columnNames(headings, sample);
  const pick = (name) => (value) => tell({ columns: { [name]: value === "" ? null : Number(value) } });
  return columns.map(([name, label]) => {
    const at = choices.columns[name] ?? null;
    return selectField(label, [NOWHERE, ...names], at === null ? "" : String(at), pick(name));
  });
}

/** Asked only where the dates can be read two ways. */
export function dateOrderChoice({ choices, date_orders: orders }, tell) {
  if (orders.length !== 2) return null;
  const ways = [["", "choose"], ["day first", "day first, 31/5"], ["month first", "month first, 5/31"]];
  return selectField("Dates are", ways, choices.date_order ?? "", (value) => tell({ date_order: value || null }));
}

export function selectField(label, options, value, tell) {
  const id = freshId("choice");
  const control = element("select", { id, onchange: () => tell(control.value) }, options.map(([key, words]) => element("option", { value: key }, words)));
  control.value = value;
  return field(label, control);
}

export function dayField(label, value, tell) {
  const id = freshId("choice-day");
  const control = element("input", { id, type: "date", value: value ?? "", onchange: () => tell(control.value) });
  return field(label, control);
}

export function textField(label, value, tell, help = null) {
  const id = freshId("choice-text");
  const control = element("input", { id, type: "text", autocomplete: "off", value: value ?? "", onchange: () => tell(control.value.trim()) });
  if (help) control.setAttribute("aria-describedby", `${id}-help`);
  return field(label, control, help && element("p", { class: "help", id: `${id}-help` }, help));
}

export function tickField(label, checked, tell) {
  const id = freshId("choice-tick");
  const control = element("input", { id, type: "checkbox", checked: Boolean(checked), onchange: () => tell(control.checked) });
  return element("div", { class: "tick" }, control, element("label", { for: id }, label));
}

const field = (label, control, help = null) => element("div", { class: "field" }, element("label", { for: control.id }, label), help, control);

/** A column by its heading and its first value. */
function columnNames(headings, sample) {
  const width = Math.max(headings.length, ...sample.map((row) => row.length));
  return Array.from({ length: width }, (_, at) => {
    const first = sample.map((row) => row[at]).find(Boolean);
    const heading = headings[at] || `column ${at + 1}`;
    return [String(at), first ? `${heading}: ${first}` : heading];
  });
}
