/**
 * The card's printed side and its code, counted in modules of the code: the code covers 0 to 21 both ways,
 * the card lies around it. Agrees with `card_layout.py` of the server.
 */

import { homography, project } from "./perspective.js";

export const MODULES = 21;
const MODULE_MM = 50 / MODULES;
const CODE_FROM_EDGE_MM = 10;

/** @typedef {[number, number]} Point */

/** @type {Point[]} the code's corners, from top left, clockwise */
export const CODE_CORNERS = [
  [0, 0],
  [MODULES, 0],
  [MODULES, MODULES],
  [0, MODULES],
];

/** @type {Point[]} */
const CARD_CORNERS = [
  [0, 0],
  [100, 0],
  [100, 70],
  [0, 70],
].map((mm) => mm.map((length) => (length - CODE_FROM_EDGE_MM) / MODULE_MM));

/**
 * The card's four corners in the picture, from those of its code.
 *
 * @param {Point[]} codeCorners pixels, from top left, clockwise @returns {Point[]}
 */
export function cardCornersFrom(codeCorners) {
  const map = homography(CODE_CORNERS, codeCorners);
  return CARD_CORNERS.map(([x, y]) => project(map, x, y));
}

/** `TAG-` and six of Crockford's base 32, as `domain/cards.py` of the server has it. @param {string} text */
export const isCardCode = (text) => /^TAG-[0-9A-HJKMNP-TV-Z]{6}$/.test(text);
