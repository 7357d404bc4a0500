/** One of a few ways to look at things: a list to choose from. */

import { element } from "./dom.js";

/** @param {[string, string][]} options each value with its words @param {string} value @param {(event: Event) => void} onchange */
export function chooser(options, value, onchange) {
  const select = element(
    "select",
    { onchange },
    options.map(([id, words]) => element("option", { value: id }, words)),
  );
  select.value = value;
  return select;
}
