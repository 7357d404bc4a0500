/** The rows of a file as they would go in, those that are wrong first. What is wrong stands where a phone shows it. */

import { element } from "../dom.js";
import { countInWords } from "../../words.js";

const MOST_ROWS = 20;

/**
 * @param {{line: number, becomes: string | null, errors: {field: string | null, message: string}[]}[]} rows
 * @param {{title: string, region: string, row: string, columns: [string, (row: Object) => string][],
 *   fields?: Object<string, string>}} what ``fields`` names the fields that a message may be about
 */
export function previewTable(rows, { title, region, row: word, columns, fields = {} }) {
  const wrong = rows.filter(({ errors }) => errors.length);
  const shown = [...wrong, ...rows.filter(({ errors }) => !errors.length)].slice(0, MOST_ROWS);
  const headings = ["Line", "In the journal", ...columns.map(([heading]) => heading)];
  return element(
    "section",
    {},
    element("h2", {}, title),
    element(
      "div",
      { class: "behind", tabindex: "0", role: "region", "aria-label": region },
      element(
        "table",
        {},
        element("thead", {}, element("tr", {}, headings.map((words) => element("th", { scope: "col" }, words)))),
        element("tbody", {}, shown.map((row) => previewRow(row, columns, fields))),
      ),
    ),
    rows.length > shown.length && element("p", { class: "quiet" }, `${countInWords(rows.length - shown.length, `more ${word}`)} in the file.`),
  );
}

function previewRow(row, columns, fields) {
  const { line, becomes, errors } = row;
  const outcome = errors.length
    ? element("td", { class: "signal refusal" }, errors.map((error) => saidOf(error, fields)).join(" "))
    : element("td", {}, becomes ?? "");
  return element("tr", {}, element("td", {}, String(line)), outcome, columns.map(([, words]) => element("td", {}, words(row))));
}

function saidOf({ field, message }, fields) {
  return fields[field] ? `${fields[field]}: ${message}` : message;
}
