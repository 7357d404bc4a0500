/** On the photo's screen: how the numbers stand to a correction by hand, and the way to one. */

import { button, element, link } from "../dom.js";
import { correctionInForce, correctionState, correctionsOf } from "../../store/corrections.js";
import { dayInWords } from "../../words.js";
import { noteWithUndo } from "../undo.js";

/** Until the server has measured with it, which it says itself once it knows of it. */
const STATE_WORDS = {
  waits: "A correction by hand is saved and waits to be measured. These are the numbers from before.",
  "taken back": "The correction by hand is taken back; the numbers from before it follow.",
};

/** @param {Object} photo record @param {Object} measurement the current one */
export function handTold({ journal }, photo, measurement) {
  const state = correctionState(correctionInForce(journal.store, photo.id), measurement);
  const byHand = measurement.fields.numbers.by_hand;
  return [
    STATE_WORDS[state] &&
      photo.fields.measuring === "done" &&
      element("p", { id: "correction-waits" }, STATE_WORDS[state]),
    byHand && element("p", { id: "by-hand" }, handInWords(byHand)),
    byHand?.note && element("p", { class: "quiet" }, byHand.note),
  ];
}

export function handWays(context, photo) {
  const correction = correctionInForce(context.journal.store, photo.id);
  return [
    link(
      `#/photos/${photo.id}/correct`,
      { class: "secondary", id: "correct" },
      correction ? "Go on correcting by hand" : "Correct by hand",
    ),
    correction && button("Take the correction back", () => takeBack(context, photo), { id: "take-correction-back" }),
  ];
}

/** "Corrected by hand by Ada on 2 July 2026; 12 % of the frame was painted." */
export function handInWords({ by, on, painted_share: share }) {
  const painted = share < 0.005 ? "less than 1 %" : `${Math.round(share * 100)} %`;
  return `Corrected by hand${by ? ` by ${by}` : ""} on ${dayInWords(on)}; ${painted} of the frame was painted.`;
}

function takeBack(context, photo) {
  const all = correctionsOf(context.journal.store, photo.id).map(({ id }) => ({ kind: "correction", id }));
  return noteWithUndo(
    context,
    all.map((one) => ({ ...one, delete: true })),
    "Correction taken back. The numbers from before count again.",
    all.map((one) => ({ ...one, restore: true })),
  );
}
