/** A count under way: what was said at each point, and which point comes next. Pure: each step makes a new one. */

export const UNANSWERED = "-";

/** In the order of the buttons and of the keys 1 to 4. */
export const CLASSES = [
  { letter: "b", word: "Bloom", name: "bloom" },
  { letter: "s", word: "Spent", name: "spent" },
  { letter: "f", word: "Foliage", name: "foliage" },
  { letter: "o", word: "Other", name: "other" },
];

/**
 * @typedef {{answers: string, round: number[], at: number}} Counting `round`: the points that are gone through, by index;
 *   `at`: which of the round comes next, its length once it is through
 */

/** @param {number} number of points @returns {Counting} */
export const begin = (number) => goOn(UNANSWERED.repeat(number));

/** Takes up what was said earlier, after the last point that was answered. @param {string} answers @returns {Counting} */
export function goOn(answers, at = lastAnswered(answers) + 1) {
  return { answers, round: [...answers].map((_, index) => index), at: Math.min(at, answers.length) };
}

/** Goes once more through the points that were left out. @param {Counting} counting @returns {Counting} */
export function leftOutAgain({ answers }) {
  const round = [...answers].flatMap((letter, index) => (letter === UNANSWERED ? [index] : []));
  return { answers, round, at: 0 };
}

/** The index of the point that comes next; null when the round is through. @param {Counting} counting */
export const current = ({ round, at }) => round[at] ?? null;

/** @param {Counting} counting @param {string} letter what the point is, or UNANSWERED where it cannot be told @returns {Counting} */
export function say(counting, letter) {
  const index = current(counting);
  if (index === null) return counting;
  return { ...counting, answers: withLetter(counting.answers, index, letter), at: counting.at + 1 };
}

export const canUndo = ({ at }) => at > 0;

/** Back to the point before, unanswered again. @param {Counting} counting @returns {Counting} */
export function undo(counting) {
  if (!canUndo(counting)) return counting;
  const at = counting.at - 1;
  return { ...counting, answers: withLetter(counting.answers, counting.round[at], UNANSWERED), at };
}

export const answered = (answers) => [...answers].filter((letter) => letter !== UNANSWERED).length;

const lastAnswered = (answers) => [...answers].findLastIndex((letter) => letter !== UNANSWERED);

const withLetter = (answers, index, letter) => answers.slice(0, index) + letter + answers.slice(index + 1);
