/** What changed between two photos, each number with its interval and a plain verdict. */

import { element } from "../dom.js";
import { swatch } from "../numbers.js";
import { copyable, copyTable } from "../copy/copyable.js";

/** @param {Object} answer of `/api/compare/dates` */
export function differenceTable({ rows, first, second, colour_doubt: doubt, copies }) {
  const heads = ["Number", "Change"].map((name) => element("th", { scope: "col" }, name));
  return [
    colours(first, second),
    element(
      "table",
      { class: "differences" },
      element("caption", { class: "unseen" }, "What changed, with 90 % intervals"),
      element("thead", {}, element("tr", {}, heads)),
      element("tbody", {}, rows.map(differenceRow)),
    ),
    copyTable("What changed", copies, { id: "copy-changes" }),
    doubt && element("p", { class: "finding" }, `The colour: ${doubt}.`),
    element(
      "p",
      { class: "quiet" },
      "Small figures are 90 % intervals. A change is more than measuring error where its interval leaves out 0.",
    ),
  ];
}

/** How many rows from this one on have no change for the same reason, which is then said once. */
const alikeFrom = (rows, at) => {
  const end = rows.findIndex(({ change, reason }, index) => index > at && (change || reason !== rows[at].reason));
  return (end < 0 ? rows.length : end) - at;
};

const saysAsBefore = (rows, at) => at > 0 && !rows[at].change && !rows[at - 1].change && rows[at].reason === rows[at - 1].reason;

function differenceRow(row, at, rows) {
  const values = [row.first_words, row.second_words].filter(Boolean);
  const head = element(
    "th",
    { scope: "row" },
    element("span", {}, row.words),
    values.length === 2 &&
      element(
        "span",
        { class: "interval" },
        element("span", { class: "unbroken" }, values[0], ", then"),
        " ",
        element("span", { class: "unbroken" }, values[1]),
      ),
  );
  if (saysAsBefore(rows, at)) return element("tr", {}, head);
  if (!row.change) return element("tr", {}, head, element("td", { class: "quiet", rowspan: alikeFrom(rows, at) }, row.reason));
  return element(
    "tr",
    {},
    head,
    element(
      "td",
      {},
      copyable(element("b", {}, row.change_words), `Change of ${row.words}`, row.quote, { class: "unbroken", id: `copy-${row.name}` }),
      element("span", { class: "interval" }, row.interval),
      element("span", { class: row.verdict.startsWith("more") ? "verdict more" : "verdict" }, row.verdict),
    ),
  );
}

function colours(...both) {
  if (!both.every(({ bloom_hex: hex }) => hex)) return null;
  const [first, second] = both.map(({ bloom_hex: hex, bloom_quote: quote }) =>
    copyable([swatch(hex), hex], "Bloom colour", quote),
  );
  return element("p", { class: "two-colours" }, "Bloom colour ", first, ", then ", second);
}
