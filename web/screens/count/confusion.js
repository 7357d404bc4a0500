/** How often the method saw each class where the person said each. */

import { element } from "../dom.js";

/** @param {{classes: string[], rows: number[][]}} confusion rows are the method's, columns the person's */
export function confusionTable({ classes, rows }) {
  const head = (words, scope) => element("th", { scope }, words);
  return element(
    "div",
    { class: "beside-each-other" },
    element(
      "table",
      { class: "confusion" },
      element("caption", {}, "Points by class: rows are the method, columns the eye"),
      element("thead", {}, element("tr", {}, element("td", {}), classes.map((name) => head(name, "col")))),
      element(
        "tbody",
        {},
        rows.map((row, at) =>
          element(
            "tr",
            {},
            head(classes[at], "row"),
            row.map((count, column) => element("td", { class: at === column ? "alike" : count ? "" : "none" }, String(count))),
          ),
        ),
      ),
    ),
  );
}
