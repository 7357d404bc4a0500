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
  const changed = changedNumbers(verdict.quoted, numbers);
  if (!changed.length) return null;
  return element(
    "section",
    { id: "changed-numbers", class: "changed-numbers" },
    element("h2", {}, "Changed since this was written"),
    element("p", { class: "quiet" }, "The text stays as it is until you say otherwise."),
    element(
      "ul",
      { class: "rows" },
      changed.map((one) => row(verdict, numbers, wordsOf, keep, one)),
    ),
  );
}

function row(verdict, numbers, wordsOf, keep, changed) {
  const quoted = verdict.quoted[changed.place];
  const number = numbers.find(({ key, planting_id: id }) => key === changed.key && id === changed.planting_id);
  const what = wordsOf(quoted);
  const now = changed.now
    ? ["; now ", numberLink(number, changed.now, what), "."]
    : ["; now not known: ", changed.reason, "."];
  return element(
    "li",
    { class: "changed" },
    element("p", {}, element("b", {}, what), ": was ", element("span", { class: "quoted-number" }, changed.was), " when this was written", now),
    element(
      "div",
      { class: "ways" },
      changed.now &&
        button("Put the new number in", () => keep(() => verdict.putNewNumber(changed.place, number), "The new number is in the text."), {
          "aria-label": `Put the new number in: ${what}`,
        }),
      button("Keep what is written", () => keep(() => verdict.keepWhatIsWritten(changed), "Kept as it is written."), {
        "aria-label": `Keep what is written: ${what}`,
      }),
    ),
  );
}
