/**
 * Where exactly the code lies: its four corners, moved until the modules that are the same in every code stand
 * where the picture shows them dark and light, and the others are as clearly one or the other as they can be.
 */

import { CODE_CORNERS, MODULES } from "./card_layout.js";
import { FIXED } from "./code_layout.js";
import { levelAt } from "./grey.js";
import { homography } from "./perspective.js";

/** Of the light strip around the code, one module wide, the places are looked at as well. */
const AROUND = aroundTheCode();
const PLACES = MODULES * MODULES;

/** What a module that may be either counts for, beside one that is known. */
const WEIGHT_OF_DATA = 0.6;
const STEPS_IN_MODULES = [0.6, 0.3, 0.15];
const MOST_ROUNDS = 6;

/** @typedef {import("./card_layout.js").Point} Point */

export class CodePose {
  /** @param {import("./grey.js").Grey} grey @param {Point[]} corners of the code, from top left, clockwise */
  constructor(grey, corners) {
    this.grey = grey;
    this.corners = corners;
    this.levels = new Float32Array(PLACES + AROUND.length);
    this.#sample(corners);
  }

  /**
   * How well the fixed modules agree: 1 when dark and light are parted everywhere, 0 for any picture.
   */
  agreement() {
    this.#sample(this.corners);
    const { light, dark } = this.#inks();
    if (light - dark < 6) return 0;
    let sum = 0;
    let count = 0;
    for (let at = 0; at < PLACES; at++) {
      if (!FIXED[at]) continue;
      sum += FIXED[at] * this.#signed(at, light, dark);
      count++;
    }
    return sum / count;
  }

  /** Climbs to the best corners nearby. */
  refine() {
    const module = this.#moduleSize();
    for (const step of STEPS_IN_MODULES) {
      this.#sample(this.corners);
      const inks = this.#inks();
      let best = this.#score(this.corners, inks);
      for (let round = 0, moved = true; moved && round < MOST_ROUNDS; round++) {
        moved = false;
        for (let axis = 0; axis < 8; axis++) {
          for (const way of [step * module, -step * module]) {
            const tried = this.corners.map((corner) => [...corner]);
            tried[axis >> 1][axis & 1] += way;
            const score = this.#score(tried, inks);
            if (score <= best) continue;
            best = score;
            this.corners = tried;
            moved = true;
            break;
          }
        }
      }
    }
    return this;
  }

  /**
   * Every module from -1 (light) to 1 (dark), doubtful near 0.
   *
   * @param {number} sharpening 0 or more: how much of the neighbours' light is taken out again @returns {Float32Array}
   */
  modules(sharpening) {
    this.#sample(this.corners);
    const { levels } = this;
    const sharp = Float32Array.from(levels.subarray(0, PLACES), (level, at) => {
      const column = at % MODULES;
      const left = column ? levels[at - 1] : level;
      const right = column < MODULES - 1 ? levels[at + 1] : level;
      const above = at >= MODULES ? levels[at - MODULES] : level;
      const below = at < PLACES - MODULES ? levels[at + MODULES] : level;
      return level + sharpening * (4 * level - left - right - above - below);
    });
    const planes = [1, -1].map((kind) => inkPlane(sharp, kind));
    return sharp.map((level, at) => {
      const [dark, light] = planes.map((plane) => plane(at));
      return Math.max(-1, Math.min(1, (light + dark - 2 * level) / Math.max(light - dark, 1)));
    });
  }

  #moduleSize() {
    const [a, b, c, d] = this.corners;
    const area = Math.abs((c[0] - a[0]) * (d[1] - b[1]) - (d[0] - b[0]) * (c[1] - a[1])) / 2;
    return Math.sqrt(area) / MODULES;
  }

  #sample(corners) {
    const map = homography(CODE_CORNERS, corners);
    const { grey, levels } = this;
    const at = (row, column) => {
      const x = column + 0.5;
      const y = row + 0.5;
      const depth = map[6] * x + map[7] * y + map[8];
      return levelAt(grey, (map[0] * x + map[1] * y + map[2]) / depth, (map[3] * x + map[4] * y + map[5]) / depth);
    };
    let index = 0;
    for (let row = 0; row < MODULES; row++) {
      for (let column = 0; column < MODULES; column++) levels[index++] = at(row, column);
    }
    for (const [row, column] of AROUND) levels[index++] = at(row, column);
  }

  #inks() {
    const sums = { light: 0, dark: 0, lights: 0, darks: 0 };
    for (let at = 0; at < PLACES; at++) {
      if (FIXED[at] > 0) {
        sums.dark += this.levels[at];
        sums.darks++;
      } else if (FIXED[at] < 0) {
        sums.light += this.levels[at];
        sums.lights++;
      }
    }
    return { light: sums.light / sums.lights, dark: sums.dark / sums.darks };
  }

  #signed(at, light, dark) {
    return Math.max(-1, Math.min(1, (light + dark - 2 * this.levels[at]) / (light - dark)));
  }

  #score(corners, { light, dark }) {
    this.#sample(corners);
    let score = 0;
    for (let at = 0; at < PLACES; at++) {
      const value = this.#signed(at, light, dark);
      score += FIXED[at] ? FIXED[at] * value : WEIGHT_OF_DATA * Math.abs(value);
    }
    for (let at = PLACES; at < this.levels.length; at++) score -= this.#signed(at, light, dark);
    return score;
  }
}

function aroundTheCode() {
  const places = [];
  for (let at = 0; at < MODULES; at++) places.push([-1, at], [MODULES, at], [at, -1], [at, MODULES]);
  return places;
}

/** The level of one ink over the code, as a plane through its means at the three finder patterns. */
function inkPlane(levels, kind) {
  const mean = (top, left) => {
    let sum = 0;
    let count = 0;
    for (let row = top; row < top + 7; row++) {
      for (let column = left; column < left + 7; column++) {
        const at = row * MODULES + column;
        if (FIXED[at] !== kind) continue;
        sum += levels[at];
        count++;
      }
    }
    return sum / count;
  };
  const far = MODULES - 7;
  const corner = mean(0, 0);
  const perColumn = (mean(0, far) - corner) / far;
  const perRow = (mean(far, 0) - corner) / far;
  return (at) => corner + perColumn * ((at % MODULES) - 3) + perRow * (Math.floor(at / MODULES) - 3);
}
