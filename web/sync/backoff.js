/** How long to wait before the next try. Pure. */

const FIRST_MS = 2000;
const LONGEST_MS = 5 * 60 * 1000;

/**
 * Doubles with every try, never over five minutes; half of it by chance, so that phones that lost the server
 * together do not come back together.
 *
 * @param {number} tries failed so far, from 1 @param {() => number} random in [0, 1)
 */
export function waitMs(tries, random) {
  const most = Math.min(LONGEST_MS, FIRST_MS * 2 ** Math.min(tries - 1, 20));
  return most / 2 + (most / 2) * random();
}
