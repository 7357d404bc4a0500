/** Care in words. Pure. */

import { countInWords, dayInWords, shortDayInWords } from "../../words.js";

const TO_DO = {
  fed: "Feed",
  sprayed: "Spray",
  deadheaded: "Deadhead",
  trimmed: "Trim",
  watered: "Water",
  repaired: "Look at the dripper",
};

const DONE = { repaired: "dripper fixed" };

export const PLANNED = Object.keys(TO_DO);

export const toDoInWords = (action) => TO_DO[action] ?? action;

export const doneInWords = (action) => DONE[action] ?? action;

export function overdueInWords(days) {
  return days ? `${countInWords(days, "day")} over` : "due today";
}

export function everyInWords(days) {
  if (days % 7 === 0) return days === 7 ? "every week" : `every ${days / 7} weeks`;
  return days === 1 ? "every day" : `every ${days} days`;
}

/** "every week, from 30 May 2026, until 1 September 2026" */
export function planInWords({ every_days: every, begins_on: begins, ends_on: ends }) {
  return [everyInWords(every), begins && `from ${dayInWords(begins)}`, ends && `until ${dayInWords(ends)}`]
    .filter(Boolean)
    .join(", ");
}

export const comingInWords = ({ action, product, dueOn, entries }) =>
  `${toDoInWords(action)}${product ? ` (${product})` : ""}: ${countInWords(entries.length, "planting")}, from ${shortDayInWords(dueOn)}`;
