/**
 * Reed-Solomon decoding with errors and erasures over GF(256) as QR codes use it (ISO/IEC 18004: the field
 * of x^8 + x^4 + x^3 + x^2 + 1, generator roots from the zeroth power): Berlekamp-Massey started from the erasures,
 * then Forney's formula (R. E. Blahut, Theory and Practice of Error Control Codes, 1983).
 */

const POWERS = new Uint8Array(510);
const LOGS = new Uint8Array(256);
for (let power = 0, value = 1; power < 255; power++) {
  POWERS[power] = POWERS[power + 255] = value;
  LOGS[value] = power;
  value = value & 0x80 ? ((value << 1) ^ 0x11d) & 0xff : value << 1;
}

const times = (a, b) => (a && b ? POWERS[LOGS[a] + LOGS[b]] : 0);
const inverse = (a) => POWERS[255 - LOGS[a]];

/** Value of a polynomial, lowest coefficient first. */
const valueAt = (polynomial, x) => polynomial.reduceRight((sum, coefficient) => times(sum, x) ^ coefficient, 0);

/**
 * @param {Uint8Array} words data and correction words as read
 * @param {number} correctionCount
 * @param {number[]} erasures places of words that are not to be believed
 * @returns {Uint8Array | null} all words put right; null when too much is wrong
 */
export function corrected(words, correctionCount, erasures = []) {
  if (erasures.length > correctionCount) return null;
  const syndromes = syndromesOf(words, correctionCount);
  if (syndromes.every((value) => value === 0)) return words;
  const locator = errorLocator(syndromes, erasures.map((at) => POWERS[words.length - 1 - at]));
  const places = rootsOf(locator, words.length);
  const errors = places.length - erasures.length;
  if (places.length !== locator.length - 1 || 2 * errors + erasures.length > correctionCount) return null;
  const right = withoutErrors(words, syndromes, locator, places);
  return syndromesOf(right, correctionCount).every((value) => value === 0) ? right : null;
}

function syndromesOf(words, count) {
  return Array.from({ length: count }, (_, power) =>
    words.reduce((sum, word) => times(sum, POWERS[power]) ^ word, 0),
  );
}

/** The polynomial whose roots are the inverse places of what is wrong, lowest coefficient first. */
function errorLocator(syndromes, erased) {
  let locator = [1];
  for (const place of erased) locator = plus(locator, [0, ...locator.map((value) => times(value, place))]);
  let helper = locator;
  let length = erased.length;
  for (let step = erased.length; step < syndromes.length; step++) {
    let discrepancy = 0;
    locator.forEach((value, at) => (discrepancy ^= at <= step ? times(value, syndromes[step - at]) : 0));
    const shifted = [0, ...helper];
    if (!discrepancy) {
      helper = shifted;
      continue;
    }
    const next = plus(locator, shifted.map((value) => times(value, discrepancy)));
    if (2 * length <= step + erased.length) {
      helper = locator.map((value) => times(value, inverse(discrepancy)));
      length = step + 1 + erased.length - length;
    } else {
      helper = shifted;
    }
    locator = next;
  }
  while (locator.length > 1 && !locator.at(-1)) locator.pop();
  return locator;
}

function plus(a, b) {
  const [long, short] = a.length > b.length ? [a, b] : [b, a];
  return long.map((value, at) => value ^ (short[at] ?? 0));
}

function rootsOf(locator, wordCount) {
  const places = [];
  for (let at = 0; at < wordCount; at++) {
    if (!valueAt(locator, inverse(POWERS[wordCount - 1 - at]))) places.push(at);
  }
  return places;
}

function withoutErrors(words, syndromes, locator, places) {
  const evaluator = syndromes.map((_, power) =>
    locator.reduce((sum, value, at) => (at <= power ? sum ^ times(value, syndromes[power - at]) : sum), 0),
  );
  const slope = locator.map((value, at) => (at % 2 ? value : 0)).slice(1);
  const right = Uint8Array.from(words);
  for (const at of places) {
    const place = POWERS[words.length - 1 - at];
    const back = inverse(place);
    right[at] ^= times(place, times(valueAt(evaluator, back), inverse(valueAt(slope, back))));
  }
  return right;
}
