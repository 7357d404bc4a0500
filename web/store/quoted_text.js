/** Where the numbers that a text stands on are in it. Pure. */

/** @typedef {{text: string, quoted: number | null}} TextPart `quoted`: the place of its number in the list of quoted ones */

/** A number with its interval as it stands in a text: "61 % (57–65)". */
export const worded = (shown, interval) => (interval ? `${shown} (${interval})` : shown);

/**
 * Each text in pieces, so that every quoted number that still stands in one of them is a piece of its own: looked for
 * with its interval first, then without; of several places the one whose words before it are most like those that stood
 * before it when it was put in; each is found once.
 *
 * @param {(string | null | undefined)[]} texts @param {Object[]} quoted @returns {TextPart[][]}
 */
export function quotedParts(texts, quoted) {
  const plain = texts.map((text) => spaced(text ?? ""));
  /** @type {Map<number, {text: number, start: number, end: number}>} */
  const found = new Map();
  quoted.forEach((one, number) => {
    const place = find(plain, one, [...found.values()]);
    if (place) found.set(number, place);
  });
  return texts.map((text, at) => pieces(text ?? "", at, found));
}

/** Those quoted numbers that still stand in one of the texts. */
export function stillQuoted(texts, quoted) {
  const standing = new Set(quotedParts(texts, quoted).flat().map((part) => part.quoted));
  return quoted.filter((_, number) => standing.has(number));
}

/** Spaces that do not break count as spaces; no character is added or lost. */
const spaced = (text) => text.replaceAll(/[\u00a0\u202f]/g, " ");

function find(texts, quoted, taken) {
  const before = spaced(quoted.before ?? "").trimEnd();
  for (const words of new Set([worded(quoted.shown, quoted.interval), quoted.shown])) {
    const places = texts.flatMap((text, number) => placesOf(words, text, number)).filter((place) => !overlaps(place, taken));
    if (places.length) return mostAlike(places, texts, before);
  }
  return null;
}

function placesOf(words, text, number) {
  const literal = spaced(words).replaceAll(/[.*+?^${}()|[\]\\]/g, "\\$&");
  const pattern = new RegExp(`(?<![\\p{L}\\p{N}_.,–−\\-])${literal}(?![\\p{L}\\p{N}_]|[.,–]\\p{Nd})`, "gu");
  return [...text.matchAll(pattern)].map(({ index, 0: match }) => ({ text: number, start: index, end: index + match.length }));
}

const overlaps = (place, taken) =>
  taken.some((one) => one.text === place.text && place.start < one.end && one.start < place.end);

function mostAlike(places, texts, before) {
  let best = places[0];
  let most = -1;
  for (const place of places) {
    const same = alike(texts[place.text].slice(0, place.start).trimEnd(), before);
    if (same > most) [best, most] = [place, same];
  }
  return best;
}

/** How many characters at their ends are the same. */
function alike(text, before) {
  let count = 0;
  while (count < Math.min(text.length, before.length) && text.at(-1 - count) === before.at(-1 - count)) count += 1;
  return count;
}

function pieces(text, number, found) {
  const here = [...found].filter(([, place]) => place.text === number).sort((a, b) => a[1].start - b[1].start);
  const all = [];
  let at = 0;
  for (const [quoted, { start, end }] of here) {
    if (start > at) all.push({ text: text.slice(at, start), quoted: null });
    all.push({ text: text.slice(start, end), quoted });
    at = end;
  }
  if (at < text.length) all.push({ text: text.slice(at), quoted: null });
  return all;
}
