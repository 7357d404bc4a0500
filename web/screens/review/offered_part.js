/** Sentences from what was measured, counted and noted: one tap puts one into the text. What is not offered says why. */

import { button, element } from "../dom.js";
import { quotedOfSentence } from "../../store/verdicts.js";
import { offeredSentence } from "./linked_text.js";
import { ABOUT_WORDS } from "./words.js";
import { capital } from "../../words.js";

/**
 * @param {import("./verdict_record.js").VerdictRecord} verdict
 * @param {{sentences: Object[], not_offered: Object[], plantings: Object[]}} drafts
 * @param {(act: () => Promise<void>) => Promise<void>} note @param {(act: () => Promise<void>, words: string) => Promise<void>} keep
 *   notes it, says so and offers the way back
 */
export function offeredPart(verdict, drafts, note, keep) {
  const text = verdict.fields.text ?? "";
  const isIn = (sentence) => text.includes(sentence.text);
  const left = drafts.sentences.filter((sentence) => !isIn(sentence));
  const groups = Object.keys(ABOUT_WORDS).filter((about) => drafts.sentences.some((one) => one.about === about));
  return [
    element(
      "p",
      { class: "quiet" },
      drafts.sentences.length
        ? "From what was measured, counted and noted. Each number leads to its photo or planting."
        : "Nothing was measured or noted that a sentence could be made of.",
    ),
    groups.map((about) =>
      groupOf(about, drafts.sentences.filter((one) => one.about === about), (one) => wayOf(one, isIn(one), verdict, note)),
    ),
    left.length > 1 &&
      element(
        "div",
        { class: "ways" },
        button("Put in all that are left", () => putAll(verdict, left, keep), { id: "put-all" }),
      ),
    notOffered(drafts),
  ];
}

function groupOf(about, sentences, way) {
  const row = (sentence) =>
    element("li", { class: "offered", "data-sentence": sentence.key }, element("p", {}, offeredSentence(sentence)), way(sentence));
  return element("section", {}, element("h3", {}, ABOUT_WORDS[about]), element("ul", { class: "rows" }, sentences.map(row)));
}

/** One button, so that what was put in is taken out where it was put in. */
function wayOf(sentence, isIn, verdict, note) {
  const words = isIn ? "Take out" : "Put in";
  const act = () => (isIn ? verdict.takeOut(sentence.text) : verdict.putIn(sentence.text, quotedOfSentence(sentence)));
  return button(words, () => note(act), {
    "aria-label": `${words}: ${sentence.text}`,
    class: isIn ? "is-in" : undefined,
    id: `sentence-${sentence.key}-${sentence.planting_id ?? "all"}`,
  });
}

function putAll(verdict, sentences, keep) {
  const words = sentences.map(({ text }) => text).join(" ");
  return keep(() => verdict.putIn(words, sentences.flatMap(quotedOfSentence)), "All put into the text.");
}

function notOffered({ not_offered: left, plantings }) {
  if (!left.length) return null;
  const planter = (id) => (plantings.length > 1 ? plantings.find((one) => one.id === id)?.planter : null);
  return element(
    "details",
    { id: "not-offered" },
    element("summary", {}, "What is not offered, and why"),
    element(
      "ul",
      { class: "rows" },
      left.map(({ what, reason, planting_id: id }) =>
        element("li", {}, element("b", {}, capital(what)), planter(id) && ` (${planter(id)})`, `: ${reason}.`),
      ),
    ),
  );
}
