/** The days of a weather file as they would go in, what is wrong first. */

import { element } from "../dom.js";
import { countInWords, dayInWords } from "../../words.js";

const MOST_ROWS = 20;

export function previewTable(rows, units) {
  const wrong = rows.filter(({ errors }) => errors.length);
  const shown = [...wrong, ...rows.filter(({ errors }) => !errors.length)].slice(0, MOST_ROWS);
  const { temperature, rain } = units;
  const headings = ["Line", "Day", `Low ${temperature.unit}`, `High ${temperature.unit}`, `Rain ${rain.unit}`, "In the journal"];
  return element(
    "section",
    {},
    element("h2", {}, "The days"),
    element(
      "div",
      { class: "behind", tabindex: "0", role: "region", "aria-label": "Days of the file" },
      element(
        "table",
        {},
        element("thead", {}, element("tr", {}, headings.map((words) => element("th", { scope: "col" }, words)))),
        element("tbody", {}, shown.map((row) => previewRow(row, units))),
      ),
    ),
    rows.length > shown.length && element("p", { class: "quiet" }, `${countInWords(rows.length - shown.length, "more day")} in the file.`),
  );
}

function previewRow({ line, day, tmin_c: low, tmax_c: high, rain_mm: mm, becomes, errors }, { temperature, rain }) {
  const number = (measure, value) => element("td", {}, value === null ? "" : String(measure.show(value)));
  const last = errors.length
    ? element("td", { class: "signal" }, errors.map(({ message }) => message).join(" "))
    : element("td", {}, becomes ?? "");
  return element(
    "tr",
    {},
    element("td", {}, String(line)),
    element("td", {}, day ? dayInWords(day) : ""),
    number(temperature, low),
    number(temperature, high),
    number(rain, mm),
    last,
  );
}
