/** From modules, each more or less surely dark or light, to the card's code. */

import { isCardCode, MODULES } from "./card_layout.js";
import { textOf } from "./code_text.js";
import { DATA_PLACES, FORMAT_PLACES, FORMATS, isMasked } from "./code_layout.js";
import { corrected } from "./reed_solomon.js";

const WORDS = 26;
const FORMATS_TRIED = 3;
const ERASED = [0, 4, 8, 12];
/**
 * The text found, printed again, must agree with what was read in all but this share of modules. By chance alone one
 * reading in some 1e19 would (binomial, 208 modules), against 1e9 codes that a card can have.
 */
const MOST_DISAGREEING = 0.2;

/** @param {Float32Array} modules -1 light to 1 dark, row by row @returns {string | null} */
export function cardCodeOf(modules) {
  for (const format of likelyFormats(modules)) {
    const bits = Float32Array.from(DATA_PLACES, (at) =>
      isMasked(format.mask, Math.floor(at / MODULES), at % MODULES) ? -modules[at] : modules[at],
    );
    const text = decoded(bits, format.correctionWords);
    if (text && isCardCode(text)) return text;
  }
  return null;
}

function likelyFormats(modules) {
  const agreement = ({ bits }) =>
    FORMAT_PLACES.reduce(
      (sum, places) =>
        places.reduce((part, at, index) => part + ((bits >> (14 - index)) & 1 ? modules[at] : -modules[at]), sum),
      0,
    );
  return FORMATS.map((format) => ({ format, agreement: agreement(format) }))
    .sort((a, b) => b.agreement - a.agreement)
    .slice(0, FORMATS_TRIED)
    .map(({ format }) => format);
}

function decoded(bits, correctionWords) {
  const words = new Uint8Array(WORDS);
  const doubt = new Float32Array(WORDS).fill(1);
  bits.forEach((bit, at) => {
    if (bit > 0) words[at >> 3] |= 0x80 >> (at & 7);
    doubt[at >> 3] = Math.min(doubt[at >> 3], Math.abs(bit));
  });
  const doubtful = [...words.keys()].sort((a, b) => doubt[a] - doubt[b]);
  for (const erased of ERASED) {
    const right = corrected(words, correctionWords, doubtful.slice(0, erased));
    if (right && disagreeing(bits, right) <= MOST_DISAGREEING * bits.length) {
      return textOf(right.subarray(0, WORDS - correctionWords));
    }
  }
  return null;
}

function disagreeing(bits, words) {
  let count = 0;
  bits.forEach((bit, at) => {
    if (bit > 0 !== Boolean(words[at >> 3] & (0x80 >> (at & 7)))) count++;
  });
  return count;
}
