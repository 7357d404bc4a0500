/** How many plants of a planting were set out, live and why. Pure. */

import { countInWords, dayInWords } from "../words.js";

export const COUNT_REASONS = ["died", "lifted for elsewhere", "added", "counted again"];

/** Counts of a planting, oldest first; of one day as the server heard of them, own waiting ones last. */
export function countsOf(store, plantingId) {
  const place = (record) => record.seq || Infinity;
  return store
    .all("plant_count")
    .filter(({ fields }) => fields.planting_id === plantingId)
    .sort((a, b) => a.fields.counted_on.localeCompare(b.fields.counted_on) || place(a) - place(b) || 0);
}

/** "5 set out, 4 living since 12 June 2026 (one died: stem rot)" */
export function plantsInWords(setOut, counts) {
  const begun = setOut === null || setOut === undefined ? "How many were set out was not said" : `${setOut} set out`;
  const last = counts.at(-1)?.fields;
  if (!last) return setOut ? `${begun}; not counted since.` : `${begun}.`;
  const why = whyInWords(setOut, counts);
  return `${begun}, ${last.plants || "none"} living since ${dayInWords(last.counted_on)}${why && ` (${why})`}.`;
}

/** "one died: stem rot", "2 died, one lifted for elsewhere" */
function whyInWords(setOut, counts) {
  const changed = new Map();
  let before = setOut ?? null;
  for (const { fields } of counts) {
    const by = before === null ? 0 : fields.plants - before;
    const reason = reasonOf(fields.reason, by);
    if (by && reason) changed.set(reason, (changed.get(reason) ?? 0) + Math.abs(by));
    before = fields.plants;
  }
  const words = [...changed].map(([reason, many]) => `${many === 1 ? "one" : many} ${reason}`).join(", ");
  const notes = counts.map(({ fields }) => fields.note).filter(Boolean);
  return counts.length === 1 && notes.length ? [words, notes[0]].filter(Boolean).join(": ") : words;
}

/** A fall without a reason counts as died, as in the survival that the server tells; what was counted again is no event. */
function reasonOf(reason, by) {
  if (reason === "counted again") return "";
  if (by < 0) return reason === "lifted for elsewhere" ? reason : "died";
  return by > 0 ? "added" : "";
}

/** One count of the list: "4 living: died, stem rot" */
export function countInFull({ plants, reason, note }) {
  const why = [reason, note].filter(Boolean).join(", ");
  return `${countInWords(plants, "plant")} living${why && `: ${why}`}`;
}
