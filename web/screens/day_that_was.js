/** The day on which something happened: never one that has not been, nor one before the planting stood. */

import { localDay } from "../store/walk.js";
import { dayInWords } from "../words.js";

/**
 * @param {string | null} day
 * @param {{missing?: string, plantedOn?: string | null}} about `missing`: what to say where no day is given
 * @returns {string | null} what is wrong with it
 */
export function wrongDay(day, { missing = "Say on which day it was.", plantedOn = null }) {
  if (!day) return missing;
  if (day > localDay(new Date())) return `${dayInWords(day)} has not been yet: choose the day on which it was.`;
  if (plantedOn && day < plantedOn) return `It was planted on ${dayInWords(plantedOn)}: choose a later day.`;
  return null;
}
