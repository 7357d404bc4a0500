/** The numbers that a verdict can stand on, each to be copied with its interval, day and source. */

import { element } from "../dom.js";
import { worded } from "../../store/quoted_text.js";
import { copyable } from "../copy/copyable.js";

/** @param {Object[]} numbers as the server tells them @param {(number: Object) => string} wordsOf */
export function numbersPart(numbers, wordsOf) {
  const known = numbers.filter(({ quote }) => quote);
  if (!known.length) return null;
  return element(
    "details",
    { id: "numbers-to-copy" },
    element("summary", {}, "Copy a number"),
    element(
      "table",
      { class: "numbers" },
      element("caption", { class: "unseen" }, "Numbers of this cultivar here"),
      element("tbody", {}, known.map((number) => row(number, wordsOf(number)))),
    ),
  );
}

const row = (number, words) =>
  element(
    "tr",
    {},
    element("th", { scope: "row" }, words),
    element("td", {}, copyable(worded(number.shown, number.interval), words, number.quote)),
  );
