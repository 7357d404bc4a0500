/**
 * How a QR code of version 1 is laid out (ISO/IEC 18004): what stands in every code, where the format
 * information and the data lie, and the eight masks.
 */

import { MODULES } from "./card_layout.js";

const FORMAT_GENERATOR = 0b10100110111;
const FORMAT_MASK = 0b101010000010010;

/** Error correction words among the 26 words of version 1, by the two level bits of the format. */
const CORRECTION_WORDS = { 0b01: 7, 0b00: 10, 0b11: 13, 0b10: 17 };

const place = (row, column) => row * MODULES + column;

const MASKS = [
  (row, column) => (row + column) % 2,
  (row) => row % 2,
  (row, column) => column % 3,
  (row, column) => (row + column) % 3,
  (row, column) => ((row >> 1) + Math.floor(column / 3)) % 2,
  (row, column) => ((row * column) % 2) + ((row * column) % 3),
  (row, column) => (((row * column) % 2) + ((row * column) % 3)) % 2,
  (row, column) => (((row + column) % 2) + ((row * column) % 3)) % 2,
];

/** Whether the mask turns the module round. */
export const isMasked = (mask, row, column) => MASKS[mask](row, column) === 0;

/** For every module: 1 dark in every code, -1 light in every code, 0 differs from code to code. */
export const FIXED = fixedModules();

/** Modules (row times 21 plus column) of the two copies of the format information, first bit first. */
export const FORMAT_PLACES = formatPlaces();

/** Modules of the data in the order of its bits. */
export const DATA_PLACES = dataPlaces();

/** The 32 words that format information can be: `{bits, correctionWords, mask}`. */
export const FORMATS = Array.from({ length: 32 }, (_, data) => ({
  bits: formatBits(data),
  correctionWords: CORRECTION_WORDS[data >> 3],
  mask: data & 7,
}));

function fixedModules() {
  const fixed = new Int8Array(MODULES * MODULES);
  for (const [top, left] of [
    [0, 0],
    [0, MODULES - 7],
    [MODULES - 7, 0],
  ]) {
    for (let row = -1; row <= 7; row++) {
      for (let column = -1; column <= 7; column++) {
        const inside = top + row >= 0 && left + column >= 0 && top + row < MODULES && left + column < MODULES;
        const ring = Math.max(Math.abs(row - 3), Math.abs(column - 3));
        if (inside) fixed[place(top + row, left + column)] = ring === 2 || ring === 4 ? -1 : 1;
      }
    }
  }
  for (let at = 8; at < MODULES - 8; at++) {
    fixed[place(6, at)] = fixed[place(at, 6)] = at % 2 ? -1 : 1;
  }
  fixed[place(MODULES - 8, 8)] = 1;
  return fixed;
}

function formatPlaces() {
  const last = MODULES - 1;
  const aroundTopLeft = [0, 1, 2, 3, 4, 5, 7, 8].map((column) => place(8, column));
  for (const row of [7, 5, 4, 3, 2, 1, 0]) aroundTopLeft.push(place(row, 8));
  const atTheOthers = [0, 1, 2, 3, 4, 5, 6].map((step) => place(last - step, 8));
  for (let column = MODULES - 8; column <= last; column++) atTheOthers.push(place(8, column));
  return [aroundTopLeft, atTheOthers];
}

function dataPlaces() {
  const taken = new Set(FORMAT_PLACES.flat());
  const places = [];
  let upwards = true;
  for (let right = MODULES - 1; right > 0; right -= 2) {
    if (right === 6) right--;
    for (let step = 0; step < MODULES; step++) {
      const row = upwards ? MODULES - 1 - step : step;
      for (const column of [right, right - 1]) {
        const at = place(row, column);
        if (!FIXED[at] && !taken.has(at)) places.push(at);
      }
    }
    upwards = !upwards;
  }
  return places;
}

/** Five bits of data with their ten check bits (a BCH code), masked as printed. */
function formatBits(data) {
  let rest = data << 10;
  for (let bit = 14; bit >= 10; bit--) {
    if (rest & (1 << bit)) rest ^= FORMAT_GENERATOR << (bit - 10);
  }
  return ((data << 10) | rest) ^ FORMAT_MASK;
}
