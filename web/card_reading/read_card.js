/** A grey picture in, the card's code and corners out; pure. */

import { cardCornersFrom } from "./card_layout.js";
import { cardCodeOf } from "./decode.js";
import { finderPatterns } from "./finder_patterns.js";
import { halved } from "./grey.js";
import { likelyPoses } from "./likely_poses.js";

const SHARPENINGS = [0, 0.15, 0.3];
/** A larger picture is first looked at smaller: most cards in it are large enough for that, and it takes a quarter of the time. */
const PIXELS_AT_FIRST = 1_500_000;

/**
 * @typedef {{code: string, corners: import("./card_layout.js").Point[]}} CardRead corners of the card in pixels, from top
 * left, clockwise
 * @param {import("./grey.js").Grey} grey @returns {CardRead | null}
 */
export function readCard(grey) {
  if (grey.levels.length > PIXELS_AT_FIRST) {
    const small = readCard(halved(grey));
    if (small) return { ...small, corners: small.corners.map(([x, y]) => [2 * x, 2 * y]) };
  }
  for (const pose of likelyPoses(grey, finderPatterns(grey))) {
    const code = codeAt(pose) ?? codeAt(pose.refine());
    if (code) return { code, corners: cardCornersFrom(pose.refine().corners) };
  }
  return null;
}

function codeAt(pose) {
  for (const sharpening of SHARPENINGS) {
    const code = cardCodeOf(pose.modules(sharpening));
    if (code) return code;
  }
  return null;
}
