/** Saying what photos show: one change each, with a way back. */

import { describePlanting } from "../store/queries.js";
import { countInWords } from "../words.js";

const change = (photo, fields) => ({ kind: "photo", id: photo.id, fields });

/** Sends changes, says what happened, and offers to undo them with `back`. */
export async function settle({ journal, notices }, changes, says, back) {
  try {
    const refused = await journal.applyChanges(changes);
    const problems = [...new Set(refused.map((problem) => problem.message))].join(" ");
    if (problems) return notices.say(problems);
    notices.say(says, back && (() => settle({ journal, notices }, back, "Undone.", null)));
  } catch (problem) {
    notices.say(problem.message);
  }
}

export function matchPhoto(context, photo, plantingId) {
  const name = describePlanting(context.journal.store, plantingId)?.name ?? "the planting";
  const before = photo.fields.planting_id ?? null;
  return settle(context, [change(photo, { planting_id: plantingId })], `Settled: ${name}.`, [
    change(photo, { planting_id: before }),
  ]);
}

export function acceptAll(context, photos) {
  const suggested = photos.filter((photo) => photo.fields.suggested_planting_id);
  return settle(
    context,
    suggested.map((photo) => change(photo, { planting_id: photo.fields.suggested_planting_id })),
    `${countInWords(suggested.length, "suggestion")} accepted.`,
    suggested.map((photo) => change(photo, { planting_id: null })),
  );
}

export function setAside(context, photo) {
  return settle(context, [change(photo, { set_aside: true })], "Set aside: not part of the trial.", [
    change(photo, { set_aside: false }),
  ]);
}

export function takeBack(context, photo) {
  return settle(context, [change(photo, { set_aside: false })], "Back among the photos to settle.", [
    change(photo, { set_aside: true }),
  ]);
}
