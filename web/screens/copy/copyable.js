/** A number that a tap copies: the words stand as they stood, with a dotted line under them. */

import { element } from "../dom.js";
import { formatWays, openSheet } from "./sheet.js";

/** @typedef {import("./sheet.js").Copies} Copies */

/**
 * @param {any} words as shown @param {string} title what the number is
 * @param {Copies | null | undefined | (() => Promise<Copies>)} quote null where there is nothing to copy: then the words stand alone
 */
export function copyable(words, title, quote, props = {}) {
  if (!quote) return element("span", props, words);
  const { class: look = "", ...rest } = props;
  return element(
    "button",
    { type: "button", class: `copyable ${look}`.trim(), onclick: () => openQuote(title, quote), ...rest },
    element("span", {}, words),
    element("span", { class: "unseen" }, " copy"),
  );
}

function openQuote(title, quote) {
  return openSheet(title, async (says) => {
    const copies = typeof quote === "function" ? await quote() : quote;
    return [element("p", { class: "quote" }, copies.text), formatWays(copies, says)];
  });
}

/** Under a table: the table as it is put into a spreadsheet, a text, a page. @param {Copies | null | undefined | (() => Promise<Copies>)} copies */
export function copyTable(title, copies, props = {}) {
  if (!copies) return null;
  const open = () =>
    openSheet(title, async (says) => {
      const table = typeof copies === "function" ? await copies() : copies;
      return [
        element("p", { class: "quiet" }, "As text its columns are kept apart by tabs, as spreadsheets take them."),
        formatWays(table, says),
      ];
    });
  return element("button", { type: "button", class: "secondary copy-table", onclick: open, ...props }, "Copy the table");
}
