/**
 * Search over what is on this device. Pure.
 *
 * An entry is found when every word of the question stands in it or in what is around it (its planting, its place), and
 * at least one in itself: "petunia dry" finds what was dry at petunias, "petunia" not every photo of one. A question
 * may name a day, a month or a week after planting; as "May" is a month and part of a name, both readings count (of a
 * week only the one).
 *
 * @typedef {{kind: string, id: string, plantingId?: string | null, own: string, around: string, day: string | null,
 *   plantedOn: string | null, name: string}} Entry
 * @typedef {{words: string[], when: {year?: number, month?: number, day?: number, week?: number} | null}} Reading
 */

import { daysBetween } from "../words.js";

const MONTHS =
  "january february march april may june july august september october november december".split(" ");
const SHORT_NUMBER = /^\d{1,3}$/;
const LETTERS = { ß: "ss", æ: "ae", œ: "oe", ø: "o", ł: "l", đ: "d", ı: "i" };

/** Without accents, capitals and quotes, so that what is typed in a hurry finds what was written with care. */
export function folded(text) {
  const lower = text.toLowerCase();
  const plain = isPlain(lower) ? lower : withoutMarks(lower);
  return plain.replace(/['"]/g, "").trim();
}

const isPlain = (text) => /^[\x20-\x7e\n]*$/.test(text);

function withoutMarks(lower) {
  return lower
    .normalize("NFD")
    .replace(/\p{M}/gu, "")
    .replace(/[ßæœøłđı]/g, (letter) => LETTERS[letter])
    .replace(/[‘’‚‛“”„«»‹›]/g, "");
}

/** The ways in which a question can be meant. @returns {Reading[]} */
export function readings(question) {
  const words = folded(question).split(/[\s,;]+/).filter(Boolean);
  if (!words.length) return [];
  const dated = words.flatMap((_, at) => {
    const { used = 0, when = null } = whenAt(words, at) ?? {};
    return when ? [{ words: [...words.slice(0, at), ...words.slice(at + used)], when }] : [];
  });
  const isWeek = dated.some(({ when }) => when.week !== undefined);
  return isWeek ? dated : [{ words, when: null }, ...dated];
}

/** A day, month or week that begins with the word at this place; the longest that can be read there. */
function whenAt(words, at) {
  const [first, second = "", third = ""] = words.slice(at, at + 3);
  const iso = first.match(/^(\d{4})-(\d{1,2})(?:-(\d{1,2}))?$/);
  if (iso) return { used: 1, when: { year: +iso[1], month: +iso[2], ...(iso[3] && { day: +iso[3] }) } };
  if (first === "week" && /^\d{1,2}$/.test(second)) return { used: 2, when: { week: +second } };
  const [one, two] = [monthOf(first), monthOf(second)];
  if (dayOf(first) && two) return withYear(third, 2, { day: dayOf(first), month: two });
  if (one && dayOf(second)) return withYear(third, 2, { day: dayOf(second), month: one });
  if (one && !dayOf(words[at - 1] ?? "")) return withYear(second, 1, { month: one });
  return null;
}

const withYear = (word, used, when) =>
  /^(19|20)\d\d$/.test(word) ? { used: used + 1, when: { ...when, year: +word } } : { used, when };

const dayOf = (word) => {
  const day = Number(word.match(/^(\d{1,2})(st|nd|rd|th|\.)?$/)?.[1] ?? 0);
  return day >= 1 && day <= 31 ? day : 0;
};

/** 1 to 12, of a month's name or at least its first three letters; else 0. */
const monthOf = (word) =>
  word.length < 3 ? 0 : MONTHS.findIndex((month) => month.startsWith(word.replace(/\.$/, ""))) + 1;

/** @param {Reading["when"]} when @param {Entry} entry */
function isWhen({ year, month, day, week }, entry) {
  if (!entry.day) return false;
  if (week !== undefined)
    return Boolean(entry.plantedOn) && Math.round(daysBetween(entry.plantedOn, entry.day) / 7) === week;
  const [itsYear, itsMonth, itsDay] = entry.day.slice(0, 10).split("-").map(Number);
  return month === itsMonth && (!year || year === itsYear) && (!day || day === itsDay);
}

/** @param {Entry} entry @param {Reading} reading */
function fitsReading(entry, { words, when }) {
  if (when && !isWhen(when, entry)) return false;
  let own = Boolean(when);
  for (const word of words) {
    if (stands(entry.own, word)) own = true;
    else if (!stands(entry.around, word)) return false;
  }
  return own;
}

/** Anywhere in the text; a short number only by itself, as "6" is no part of "2026". */
function stands(text, word) {
  if (!SHORT_NUMBER.test(word)) return text.includes(word);
  return text.includes(word) && new RegExp(`(?<!\\d)${word}(?!\\d)`).test(text);
}

/**
 * @param {{name: string, entries: Entry[]}[]} index groups of what can be found, each in the order in which it is shown
 * @param {string} question
 * @param {number} most so many of each group; of the others only their number is told
 * @returns {{name: string, found: Entry[], more: number}[]} groups in which something was found
 */
export function search(index, question, most = 24) {
  const asked = readings(question);
  if (!asked.length) return [];
  return index
    .map(({ name, entries }) => {
      const found = entries.filter((entry) => asked.some((reading) => fitsReading(entry, reading)));
      return { name, found: named(found, asked).slice(0, most), more: Math.max(0, found.length - most) };
    })
    .filter(({ found }) => found.length);
}

/** Those whose name begins with what was typed come first; the order stays otherwise. */
function named(found, [{ words }]) {
  const begins = (entry) => words.length > 0 && entry.name.startsWith(words[0]);
  return [...found.filter(begins), ...found.filter((entry) => !begins(entry))];
}
