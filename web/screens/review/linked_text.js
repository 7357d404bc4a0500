/** A text in which every number that was quoted is a link to what it was measured from. */

import { element, link } from "../dom.js";
import { worded } from "../../store/quoted_text.js";
import { unbroken } from "../../words.js";

/** To its photo where one is behind it, else to the planting with its curves and notes. */
export function numberAddress({ photo_ids: photos, planting_id: plantingId }) {
  return photos?.length === 1 ? `#/photos/${photos[0]}` : `#/plantings/${plantingId}`;
}

/** @param {Object} number quoted or present @param {string} text as it stands @param {string} [words] what it is */
export function numberLink(number, text, words) {
  const title = words ? `${words}: ${worded(number.shown, number.interval)}` : worded(number.shown, number.interval);
  return link(numberAddress(number), { class: "quoted-number", title }, unbroken(text));
}

/** @param {import("../../store/quoted_text.js").TextPart[]} parts @param {Object[]} quoted @param {(one: Object) => string} wordsOf */
export function linkedText(parts, quoted, wordsOf) {
  return paragraphs(parts).map((paragraph) =>
    element(
      "p",
      {},
      paragraph.map(({ text, quoted: place }) =>
        place === null ? unbroken(text) : numberLink(quoted[place], text, wordsOf(quoted[place])),
      ),
    ),
  );
}

/** Split at line ends, as it was typed. */
function paragraphs(parts) {
  const all = [[]];
  for (const { text, quoted } of parts) {
    const [first, ...rest] = text.split(/\n+/);
    all.at(-1).push({ text: first, quoted });
    for (const line of rest) all.push([{ text: line, quoted }]);
  }
  return all.filter((paragraph) => paragraph.some(({ text }) => text.trim()));
}

/** A sentence that is offered: its numbers lead to what they were measured from. */
export function offeredSentence({ parts }) {
  return parts.map(({ text, number }) => (number ? numberLink(number, text, number.words) : unbroken(text)));
}
