/**
 * Fine detail over coarse: what a Gaussian of one pixel takes away, against what one of three takes away from the rest.
 * Both are measured at one working size, so that the value does not depend on how many pixels the photo has.
 *
 * @param {import("./light.js").Centre} centre @returns {number} about 1 for a sharp photo, 0.4 and less for a blurred one
 */
export function sharpnessOf({ width, height, light }) {
  const seen = light.map(Math.sqrt);
  const soft = blurred(seen, width, height, 1);
  const softer = blurred(seen, width, height, 3);
  const fine = seen.map((value, at) => value - soft[at]);
  const coarse = soft.map((value, at) => value - softer[at]);
  return deviation(fine) / Math.max(deviation(coarse), 1e-4);
}

function blurred(values, width, height, sigma) {
  const weights = gaussian(sigma);
  const across = new Float32Array(values.length);
  const down = new Float32Array(values.length);
  for (let row = 0; row < height; row++) along(values, across, row * width, 1, width, weights);
  for (let column = 0; column < width; column++) along(across, down, column, width, height, weights);
  return down;
}

/** One line through the filter; beyond its ends it goes on mirrored. */
function along(from, to, start, step, length, weights) {
  const reach = weights.length - 1;
  for (let at = 0; at < length; at++) {
    let sum = weights[0] * from[start + at * step];
    const inside = at >= reach && at + reach < length;
    for (let off = 1; off <= reach; off++) {
      const before = inside ? at - off : mirrored(at - off, length);
      const after = inside ? at + off : mirrored(at + off, length);
      sum += weights[off] * (from[start + before * step] + from[start + after * step]);
    }
    to[start + at * step] = sum;
  }
}

function mirrored(at, length) {
  const place = ((at % (2 * length)) + 2 * length) % (2 * length);
  return place < length ? place : 2 * length - 1 - place;
}

/** Half a Gaussian, from its middle to four sigma; the whole sums to 1. */
function gaussian(sigma) {
  const half = Array.from({ length: 4 * sigma + 1 }, (_, at) => Math.exp((-at * at) / (2 * sigma * sigma)));
  const whole = 2 * half.reduce((sum, value) => sum + value, 0) - half[0];
  return Float32Array.from(half, (value) => value / whole);
}

function deviation(values) {
  let sum = 0;
  let squares = 0;
  for (const value of values) {
    sum += value;
    squares += value * value;
  }
  const mean = sum / values.length;
  return Math.sqrt(squares / values.length - mean * mean);
}
