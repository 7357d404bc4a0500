/** Random points for a count: the same seed lays the same points on every device. Pure. */

/** So many draws a point before a frame counts as having no room in the photo. */
const MOST_TRIES = 20_000;

/** To a tenth of a pixel, as they are kept. */
const rounded = (value) => Math.round(value * 10) / 10;

/**
 * Points drawn uniformly over the part of the polygon that lies in the photo, or over the whole photo without one.
 *
 * @param {{seed: number, number: number, polygon: [number, number][] | null, width: number, height: number}} what `width`,
 *   `height` and the polygon in displayed pixels
 * @returns {[number, number][]}
 * @throws {RangeError} where the polygon has no area inside the photo
 */
export function layPoints({ seed, number, polygon, width, height }) {
  const random = randomFrom(seed);
  const [left, top, right, bottom] = polygon ? boxOf(polygon, width, height) : [0, 0, width, height];
  const points = [];
  for (let tries = 0; points.length < number; tries += 1) {
    if (tries > MOST_TRIES * (points.length + 1)) throw new RangeError("The frame has no room inside the photo.");
    const x = rounded(left + random() * (right - left));
    const y = rounded(top + random() * (bottom - top));
    const isInPhoto = x >= 0 && y >= 0 && x < width && y < height;
    if (isInPhoto && (!polygon || isInside(polygon, [x, y]))) points.push([x, y]);
  }
  return points;
}

/** Numbers in [0, 1) from a 32-bit seed: mulberry32 (Tommy Ettinger, public domain), whose period is 2^32. */
export function randomFrom(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Whether a point lies in a polygon, by the even-odd rule. */
export function isInside(polygon, [x, y]) {
  let inside = false;
  polygon.forEach(([ax, ay], index) => {
    const [bx, by] = polygon[(index + 1) % polygon.length];
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) inside = !inside;
  });
  return inside;
}

function boxOf(polygon, width, height) {
  const [xs, ys] = [0, 1].map((axis) => polygon.map((corner) => corner[axis]));
  return [
    Math.max(0, Math.min(...xs)),
    Math.max(0, Math.min(...ys)),
    Math.min(width, Math.max(...xs)),
    Math.min(height, Math.max(...ys)),
  ];
}
