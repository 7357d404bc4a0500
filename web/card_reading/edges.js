/**
 * Finds where a line of pixels turns from dark to light and back. Each edge lies where the level crosses the middle
 * between the two extremes beside it, so that shade and sun along the line need no threshold of their own. A wiggle
 * that is small beside the steps around it is noise and left out.
 */

const LEAST_STEP = 12;
const NOISE_SHARE = 0.25;

export class EdgeFinder {
  #line;
  #places;

  /** @param {number} longest pixels of the longest line */
  constructor(longest) {
    /** Levels of the extremes along the line, dark and light in turn. */
    this.extremes = new Uint8Array(longest + 1);
    this.#places = new Uint16Array(longest + 1);
    this.count = 0;
  }

  /** Whether the first extreme is a dark one. */
  get startsDark() {
    return this.count > 1 && this.extremes[0] < this.extremes[1];
  }

  /** Finds the extremes among the first `length` levels of a line. @param {Uint8Array} line */
  find(line, length = line.length) {
    this.#line = line;
    this.count = 0;
    let rising = 0;
    let low = line[0];
    let high = low;
    let lowAt = 0;
    let highAt = 0;
    for (let at = 1; at < length; at++) {
      const level = line[at];
      if (level > high) {
        high = level;
        highAt = at;
        if (rising <= 0 && high - low > LEAST_STEP) {
          this.#add(lowAt);
          rising = 1;
        }
        if (rising > 0) low = level;
      } else if (level < low) {
        low = level;
        lowAt = at;
        if (rising >= 0 && high - low > LEAST_STEP) {
          this.#add(highAt);
          rising = -1;
        }
        if (rising < 0) high = level;
      }
    }
    if (rising) this.#add(rising > 0 ? highAt : lowAt);
  }

  #add(place) {
    const { extremes } = this;
    extremes[this.count] = this.#line[place];
    this.#places[this.count++] = place;
    while (this.count >= 4) {
      const last = this.count - 1;
      const before = Math.abs(extremes[last - 3] - extremes[last - 2]);
      const wiggle = Math.abs(extremes[last - 2] - extremes[last - 1]);
      const after = Math.abs(extremes[last - 1] - extremes[last]);
      if (wiggle > before || wiggle > after || wiggle > NOISE_SHARE * Math.max(before, after)) return;
      extremes[last - 2] = extremes[last];
      this.#places[last - 2] = this.#places[last];
      this.count -= 2;
    }
  }

  /** Where the edge between an extreme and the next one lies, in pixels (pixel centres at whole numbers). */
  edge(index) {
    const line = this.#line;
    const from = this.#places[index];
    const middle = (this.extremes[index] + this.extremes[index + 1]) / 2;
    const up = this.extremes[index + 1] > this.extremes[index];
    let at = from + 1;
    while (up ? line[at] < middle : line[at] > middle) at++;
    return at - 1 + (middle - line[at - 1]) / (line[at] - line[at - 1]);
  }
}
