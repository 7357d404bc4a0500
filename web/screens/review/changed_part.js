/** Numbers under the text that have changed since it was written: flagged, and never changed by themselves. */

import { button, element } from "../dom.js";
import { changedNumbers } from "../../store/verdicts.js";
import { numberLink } from "./linked_text.js";

/**
 * @param {import("./verdict_record.js").VerdictRecord} verdict @param {Object[]} numbers as they are now
 * @param {(quoted: Object) => string} wordsOf
 * @param {(act: () => Promise<void>, words: string) => Promise<void>} keep notes it, says so and offers the way back
 */
export function changedPart(verdict, numbers, wordsOf, keep) {
  const changed = changedNumbers(verdict.quoted, numbers).map((one) => ({ ...one, number: one.now ? numberOf(numbers, one) : null }));
  if (!changed.length) return null;
  return element(
    "section",
    { id: "changed-numbers", class: "changed-numbers" },
    element("h2", {}, "Changed since this was written"),
    element("p", { class: "quiet" }, "The text stays as it is until you say otherwise."),
    element("ul", { class: "rows" }, changed.map((one) => row(verdict, wordsOf(verdict.quoted[one.place]), keep, one))),
    changed.length > 1 && waysForAll(verdict, keep, changed),
  );
}

const numberOf = (numbers, { key, planting_id: plantingId }) =>
  numbers.find((number) => number.key === key && number.planting_id === plantingId);

function row(verdict, what, keep, changed) {
  const { was, now, reason, number } = changed;
  return element(
    "li",
    { class: "changed" },
    element(
      "p",
      {},
      element("b", {}, what),
      ": was ",
      element("span", { class: "quoted-number" }, was),
      " when this was written",
      number ? ["; now ", numberLink(number, now, what), "."] : `; now not known: ${reason}.`,
    ),
    element(
      "div",
      { class: "ways" },
      number &&
        button("Put the new number in", () => keep(() => verdict.putNewNumbers([changed]), "The new number is in the text."), {
          "aria-label": `Put the new number in: ${what}`,
        }),
      button("Keep what is written", () => keep(() => verdict.keepWhatIsWritten([changed]), "Kept as it is written."), {
        "aria-label": `Keep what is written: ${what}`,
      }),
    ),
  );
}

/** Where a new version of the method has moved many numbers at once. */
function waysForAll(verdict, keep, changed) {
  const known = changed.filter(({ number }) => number);
  return element(
    "div",
    { class: "ways" },
    known.length > 1 &&
      button("Put all new numbers in", () => keep(() => verdict.putNewNumbers(known), "The new numbers are in the text."), { id: "all-new" }),
    button("Keep all as written", () => keep(() => verdict.keepWhatIsWritten(changed), "All kept as written."), { id: "keep-all" }),
  );
}
