/**
 * Looks for the square patterns in three corners of a QR code: on any line through the middle, dark, light, dark,
 * light and dark stand as 1 : 1 : 3 : 1 : 1 (ISO/IEC 18004), whatever the tilt.
 *
 * @typedef {{x: number, y: number, across: number, down: number, hits: number}} Pattern centre and module size in pixels
 */

import { EdgeFinder } from "./edges.js";
import { levelAt } from "./grey.js";

const ROW_STEP = 2;
const MOST_PATTERNS = 16;
/** How many times longer a module may look down than across, or the other way round. */
const MOST_FORESHORTENED = 3;
const LEAST_MODULE_PX = 1.2;
const LONGEST_CROSS = 2048;
/** Between the rings, as a share of that between the middle and the ground. */
const LEAST_CONTRAST = 0.2;

/** @param {import("./grey.js").Grey} grey @returns {Pattern[]} the most often met first */
export function finderPatterns(grey) {
  const search = new Search(grey);
  for (let row = 1; row < grey.height; row += ROW_STEP) search.alongRow(row);
  return search.patterns.sort((a, b) => b.hits - a.hits).slice(0, MOST_PATTERNS);
}

class Search {
  patterns = [];

  constructor(grey) {
    this.grey = grey;
    this.alongRows = new EdgeFinder(grey.width);
    this.across = new EdgeFinder(LONGEST_CROSS);
    this.line = new Uint8Array(LONGEST_CROSS);
  }

  alongRow(row) {
    const { width, levels } = this.grey;
    const found = this.alongRows;
    found.find(levels.subarray(row * width, (row + 1) * width));
    for (let at = found.startsDark ? 1 : 0; at + 6 < found.count; at += 2) {
      const module = moduleAt(found, at);
      if (module) this.#meet(middleOf(found, at) + 0.5, row + 0.5, module);
    }
  }

  /** Confirms what a row met by lines in three other directions, and adds it to the patterns. */
  #meet(x, y, across) {
    const reach = 4.5 * across + 2;
    const column = this.#through(x, y, 0, 1, reach * MOST_FORESHORTENED);
    if (!column || column.module > MOST_FORESHORTENED * across || across > MOST_FORESHORTENED * column.module) return;
    const middle = y + column.off;
    const slope = column.module / across;
    for (const way of [slope, -slope]) {
      const slanted = this.#through(x, middle, 1, way, reach);
      if (!slanted || Math.abs(slanted.module - across) > 0.5 * across + 0.5) return;
    }
    this.#add(x, middle, across, column.module);
  }

  /** The finder pattern on a line through a point: how far its middle is off, and its module, in steps of the line. */
  #through(x, y, stepX, stepY, reach) {
    const { across: found, line } = this;
    const steps = Math.min(Math.ceil(reach), LONGEST_CROSS >> 1) - 1;
    for (let step = -steps; step <= steps; step++) {
      line[step + steps] = levelAt(this.grey, x + step * stepX, y + step * stepY);
    }
    found.find(line, 2 * steps + 1);
    for (let at = found.startsDark ? 1 : 0; at + 6 < found.count; at += 2) {
      if (found.edge(at + 3) < steps) continue;
      if (found.edge(at + 2) > steps) return null;
      const module = moduleAt(found, at);
      return module ? { module, off: middleOf(found, at) - steps } : null;
    }
    return null;
  }

  #add(x, y, across, down) {
    const known = this.patterns.find((p) => Math.abs(p.x - x) < 1.5 * p.across && Math.abs(p.y - y) < 1.5 * p.down);
    if (!known) {
      this.patterns.push({ x, y, across, down, hits: 1 });
      return;
    }
    const share = 1 / ++known.hits;
    known.x += (x - known.x) * share;
    known.y += (y - known.y) * share;
    known.across += (across - known.across) * share;
    known.down += (down - known.down) * share;
  }
}

const middleOf = (found, at) => (found.edge(at + 2) + found.edge(at + 3)) / 2;

/**
 * Module size when the five runs between the extremes `at` and `at + 6` look like a finder pattern, else 0. Measured
 * between edges of the same kind, which glare or spread ink move alike.
 */
function moduleAt(found, at) {
  const { extremes } = found;
  const light = Math.min(extremes[at + 2], extremes[at + 4]);
  const dark = Math.max(extremes[at + 1], extremes[at + 3], extremes[at + 5]);
  const contrast = Math.max(extremes[at], extremes[at + 6]) - extremes[at + 3];
  if (light - dark < LEAST_CONTRAST * contrast) return 0;
  const outerLeft = found.edge(at);
  const ringLeft = found.edge(at + 1);
  const left = found.edge(at + 2);
  const right = found.edge(at + 3);
  const ringRight = found.edge(at + 4);
  const outerRight = found.edge(at + 5);
  const module = (outerRight - outerLeft + ringRight - ringLeft) / 12;
  if (module < LEAST_MODULE_PX) return 0;
  const slack = 0.4 * module + 0.5;
  if (Math.abs(left - outerLeft - 2 * module) > slack || Math.abs(outerRight - right - 2 * module) > slack) return 0;
  if (Math.abs(right - ringLeft - 4 * module) > slack || Math.abs(ringRight - left - 4 * module) > slack) return 0;
  return Math.abs(right - left - 3 * module) < slack + 0.6 * module ? module : 0;
}
