/** From finder patterns to where a code may lie: every three of them, or two and where the third would be. */

import { MODULES } from "./card_layout.js";
import { CodePose } from "./code_pose.js";

/** @typedef {import("./finder_patterns.js").Pattern} Pattern */

const BETWEEN_FINDERS = MODULES - 7;
const FINDER_MIDDLE = 3.5;
const LEAST_AGREEMENT = 0.3;
const MOST_TRIED = 6;

/**
 * @param {import("./grey.js").Grey} grey @param {Pattern[]} patterns
 * @returns {CodePose[]} the likeliest first
 */
export function likelyPoses(grey, patterns) {
  const triples = [...threes(patterns)];
  const whole = best(grey, triples);
  return whole.length ? whole : best(grey, [...completedPairs(patterns)]);
}

function best(grey, triples) {
  return triples
    .flatMap((triple) => [flatCorners(triple), deepCorners(triple)])
    .map((corners) => new CodePose(grey, corners))
    .map((pose) => ({ pose, agreement: pose.agreement() }))
    .filter(({ agreement }) => agreement > LEAST_AGREEMENT)
    .sort((a, b) => b.agreement - a.agreement)
    .slice(0, MOST_TRIED)
    .map(({ pose }) => pose);
}

/** Patterns that may stand at top left, top right and bottom left of one code. */
function* threes(patterns) {
  for (const corner of patterns) {
    for (const right of patterns) {
      for (const below of patterns) {
        if (corner !== right && right !== below && below !== corner && isCode(corner, right, below)) {
          yield [corner, right, below];
        }
      }
    }
  }
}

/** Like in size, as far apart as in a code, and not mirrored. */
function isCode(corner, right, below) {
  if (!areAlike(corner, right) || !areAlike(corner, below) || !areAlike(right, below)) return false;
  const [ax, ay] = inModules(corner, right);
  const [bx, by] = inModules(corner, below);
  const isSide = (x, y) => Math.hypot(x, y) > 0.6 * BETWEEN_FINDERS && Math.hypot(x, y) < 1.6 * BETWEEN_FINDERS;
  return isSide(ax, ay) && isSide(bx, by) && ax * by - ay * bx > 0.6 * Math.hypot(ax, ay) * Math.hypot(bx, by);
}

const areAlike = (a, b) => isNear(a.across, b.across) && isNear(a.down, b.down);
const isNear = (a, b) => a < 1.8 * b + 0.5 && b < 1.8 * a + 0.5;

/** The way from one pattern to another, counted in modules of the first across and down the picture. */
const inModules = (from, to) => [(to.x - from.x) / from.across, (to.y - from.y) / from.down];

/** Where a third pattern was not found (a leaf, a blur), each place at which it may be. */
function* completedPairs(patterns) {
  for (const first of patterns) {
    for (const second of patterns) {
      if (first === second || !areAlike(first, second)) continue;
      const [x, y] = inModules(first, second);
      const at = (right, down) => ({
        ...first,
        x: first.x + right * first.across,
        y: first.y + down * first.down,
      });
      const length = Math.hypot(x, y) / BETWEEN_FINDERS;
      if (length > 0.7 && length < 1.4) {
        yield [first, second, at(-y, x)];
        yield [first, at(y, -x), second];
      } else if (length >= 1.1 && length < 1.9) {
        yield [at((x - y) / 2, (x + y) / 2), first, second];
      }
    }
  }
}

/** The code's corners when it is seen from far away: a parallelogram. */
const flatCorners = (triple) => cornersFrom(triple, 1, 1);

/** The code's corners as the patterns' sizes tell: what lies nearer looks larger, in area by the third power. */
function deepCorners(triple) {
  const [corner, right, below] = triple.map((pattern) => pattern.across * pattern.down);
  return cornersFrom(triple, Math.cbrt(corner / right), Math.cbrt(corner / below));
}

/**
 * @param {Pattern[]} triple at top left, top right and bottom left
 * @param {number} depthRight @param {number} depthBelow how far away the second and third are, the first being 1
 */
function cornersFrom([corner, right, below], depthRight, depthBelow) {
  const at = (column, row) => {
    const u = (column - FINDER_MIDDLE) / BETWEEN_FINDERS;
    const v = (row - FINDER_MIDDLE) / BETWEEN_FINDERS;
    const depth = 1 + (depthRight - 1) * u + (depthBelow - 1) * v;
    const along = (name) =>
      (corner[name] * (1 - u - v) + depthRight * right[name] * u + depthBelow * below[name] * v) / depth;
    return [along("x"), along("y")];
  };
  return [at(0, 0), at(MODULES, 0), at(MODULES, MODULES), at(0, MODULES)];
}
