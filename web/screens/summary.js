/** A planting's season in numbers, and how it grew beside its genus, as the server words them. */

import { element, redraw } from "./dom.js";
import { growthWords } from "./compare/ways_in.js";
import { copyable, copyTable } from "./copy/copyable.js";
import { problemNote } from "./problem.js";

export function summaryTable(server, path) {
  const place = element("div", { class: "stack" }, element("p", { class: "quiet" }, "Reading …"));
  const fill = async () => {
    try {
      const { rows, growth, copies } = await server.getJson(path);
      const copy = copyTable("The season in numbers", copies, { id: "copy-season" });
      redraw(place, table(rows), copy, growth && growthWords(growth));
    } catch (problem) {
      redraw(place, problemNote(problem, fill));
    }
  };
  fill();
  return place;
}

function table(rows) {
  return element(
    "table",
    { class: "numbers" },
    element("caption", { class: "unseen" }, "The season in numbers"),
    element(
      "thead",
      {},
      element(
        "tr",
        {},
        ["Number", "Value", "90 % interval"].map((name) => element("th", { scope: "col" }, name)),
      ),
    ),
    element("tbody", {}, rows.map(row)),
  );
}

function row({ name, value, interval, reason, quote }) {
  const head = element("th", { scope: "row" }, name);
  if (value === null || value === undefined)
    return element("tr", {}, head, element("td", { colspan: 2, class: "quiet" }, reason ?? "not had"));
  return element(
    "tr",
    {},
    head,
    element("td", { class: "value" }, copyable(value, name, quote)),
    element("td", {}, interval, reason && element("span", { class: "quiet beside" }, reason)),
  );
}
