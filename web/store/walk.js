/** The walk: which plantings are on it, what is done, left, due and noted. Pure: the day comes in, no clock is read. */

import { daysBetween } from "../words.js";
import { derivedId } from "./ids.js";
import { careDue } from "./care_due.js";
import { byMoment, photosByPlanting, plantingsInWalkOrder } from "./queries.js";

export const walkId = (trialId, day) => derivedId("walk", trialId, day);
export const visitId = (walk, plantingId) => derivedId("visit", walk, plantingId);
export const ratingId = (visit, rater) => derivedId("rating", visit, rater);

export const FINDINGS = [
  "dry",
  "soggy",
  "wilted",
  "caterpillar damage",
  "other chewing",
  "spent blooms showing",
  "leggy",
  "flopped",
  "faded",
  "off-type flower",
  "one plant lagging",
  "plant dead",
  "label missing",
];

/** These are about one plant: its number is asked for. */
export const FINDINGS_OF_ONE_PLANT = ["one plant lagging", "plant dead"];

export const RATED = ["overall", "vigour", "flower", "habit", "health"];

export const CARE_ON_THE_WALK = ["fed", "sprayed", "deadheaded", "trimmed", "watered", "repaired"];

/** The day as the phone's own clock has it: a walk belongs to the day on which it is walked. */
export function localDay(date) {
  const two = (number) => String(number).padStart(2, "0");
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
}

/** Moments as the phone shows them, with its offset: "2026-06-12T10:14:03+02:00". */
export function localMoment(date) {
  const two = (number) => String(Math.trunc(Math.abs(number))).padStart(2, "0");
  const clock = [date.getHours(), date.getMinutes(), date.getSeconds()].map(two).join(":");
  const east = -date.getTimezoneOffset();
  return `${localDay(date)}T${clock}${east < 0 ? "-" : "+"}${two(east / 60)}:${two(east % 60)}`;
}

/** On that day it had been planted, and not yet been removed. */
export function stands(planting, day) {
  const { planted_on: planted, removed_on: removed } = planting.fields;
  return (!planted || planted <= day) && (!removed || day <= removed);
}

export function plantingsOnWalk(store, trialId, day) {
  return plantingsInWalkOrder(store, trialId).filter((planting) => stands(planting, day));
}

/** How many plants live now: as last counted, else as set out; null when neither was said. */
export function livingPlants(store, planting) {
  const counts = store.all("plant_count").filter(({ fields }) => fields.planting_id === planting.id);
  return latest(counts, "counted_on")?.fields.plants ?? planting.fields.plants ?? null;
}

/** The planting that a card names on that day; cards are used again in other seasons. */
export function plantingOfCard(store, code, day) {
  const named = store.all("planting").filter(({ fields }) => fields.card_code === code);
  return named.find((planting) => stands(planting, day)) ?? latest(named, "planted_on");
}

/** The record with the latest day; of one day the one that the server heard of last, own waiting ones (no number yet) after all. */
export function latest(records, dayField) {
  const place = (record) => record.seq || Infinity;
  return records.reduce((best, record) => {
    if (!best) return record;
    const [a, b] = [best.fields[dayField] ?? "", record.fields[dayField] ?? ""];
    return b > a || (b === a && place(record) >= place(best)) ? record : best;
  }, null);
}

const groupedBy = (records, field) => {
  const groups = new Map();
  for (const record of records) {
    const key = record.fields[field];
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(record);
  }
  return groups;
};

/**
 * Everything that the list of a walk shows.
 *
 * @param {import("./record_store.js").RecordStore} store
 * @param {{trialId: string, day: string, skipped: string[]}} walk skipped: plantings passed by on this device
 */
export function overviewOfWalk(store, { trialId, day, skipped }) {
  const id = walkId(trialId, day);
  const found = groupedBy(store.all("finding"), "planting_id");
  const visits = groupedBy(store.all("visit"), "planting_id");
  const photos = photosByPlanting(store);
  const photosOfVisits = groupedBy(store.all("photo").filter(belongsHere), "visit_id");
  const records = { plans: store.all("care_plan"), care: store.all("care") };
  const entries = plantingsOnWalk(store, trialId, day).map((planting) => {
    const visit = store.get("visit", visitId(id, planting.id));
    const taken = (photos.get(planting.id) ?? []).filter(belongsHere);
    const last = taken.at(-1) ?? null;
    return {
      planting,
      cultivar: store.get("cultivar", planting.fields.cultivar_id),
      planter: store.get("planter", planting.fields.planter_id),
      visit,
      state: stateOf(visit, skipped.includes(planting.id)),
      lastPhoto: last,
      daysSincePhoto: daysSincePhoto(last, day),
      // Also those of which the journal asks which planting they show: they were taken here and are not lost.
      photos: visit ? (photosOfVisits.get(visit.id) ?? []) : [],
      due: careDue(records, planting, day),
      foundNow: visit ? (found.get(planting.id) ?? []).filter(({ fields }) => fields.visit_id === visit.id) : [],
      foundBefore: findingsOfLastVisit(visits.get(planting.id), found.get(planting.id), day),
    };
  });
  return { id, walk: store.get("walk", id), day, trialId, entries, ...counts(entries) };
}

/** A photo that was set aside is no part of the trial. */
export const belongsHere = (photo) => !photo.fields.set_aside;

export const daysSincePhoto = (photo, day) =>
  photo?.fields.taken_at ? daysBetween(photo.fields.taken_at, day) : null;

function stateOf(visit, isSkipped) {
  if (visit?.fields.done) return "done";
  return isSkipped ? "skipped" : "to do";
}

const counts = (entries) => ({
  done: entries.filter(({ state }) => state === "done").length,
  skipped: entries.filter(({ state }) => state === "skipped").length,
  left: entries.filter(({ state }) => state === "to do").length,
});

/** What was found when the planting was last visited before that day: it wants another look. */
export function findingsOfLastVisit(visits = [], findings = [], day) {
  const last = latest(
    visits.filter(({ fields }) => fields.visited_on < day),
    "visited_on",
  );
  return last ? findings.filter(({ fields }) => fields.visit_id === last.id) : [];
}

/**
 * Where to go next: the first one to do after `afterId` in walking order, then those before it, then the skipped
 * ones; null when all is done.
 */
export function nextOnWalk(entries, afterId = null) {
  const at = entries.findIndex(({ planting }) => planting.id === afterId);
  const turned = [...entries.slice(at + 1), ...entries.slice(0, at + 1)].filter(
    ({ planting }) => planting.id !== afterId,
  );
  const first = (state) => turned.find((entry) => entry.state === state);
  return first("to do") ?? first("skipped") ?? null;
}

/** What a walk brought, in numbers. */
export function summaryOfWalk(store, walk) {
  const visits = store.all("visit").filter(({ fields }) => fields.walk_id === walk);
  const ids = new Set(visits.map((visit) => visit.id));
  const of = (kind) => store.all(kind).filter(({ fields }) => ids.has(fields.visit_id));
  return {
    done: visits.filter(({ fields }) => fields.done).length,
    photos: of("photo").filter(belongsHere).length,
    findings: of("finding").length,
    recordings: of("recording").length,
    care: of("care").length,
  };
}

/** The visits to a planting, latest first, each with what belongs to it: photos of that day too that were taken in later. */
export function visitsOfPlanting(store, plantingId) {
  const own = (kind) => store.all(kind).filter(({ fields }) => fields.planting_id === plantingId);
  const kinds = ["finding", "rating", "recording", "photo"].map((kind) => groupedBy(own(kind), "visit_id"));
  const withoutVisit = new Map();
  for (const photo of own("photo").filter(({ fields }) => !fields.visit_id && fields.taken_at)) {
    const day = photo.fields.taken_at.slice(0, 10);
    withoutVisit.set(day, [...(withoutVisit.get(day) ?? []), photo]);
  }
  return own("visit")
    .sort((a, b) => b.fields.visited_on.localeCompare(a.fields.visited_on))
    .map((visit) => {
      const [findings, ratings, recordings, noted] = kinds.map((groups) => groups.get(visit.id) ?? []);
      const photos = [...noted, ...(withoutVisit.get(visit.fields.visited_on) ?? [])].filter(belongsHere).sort(byMoment);
      return { visit, findings, ratings, recordings, photos };
    });
}

/** The last ratings of a planting before that day: of this rater, else of anyone; null when there are none. */
export function lastRatings(store, plantingId, rater, day) {
  const before = store
    .all("rating")
    .filter(({ fields }) => fields.planting_id === plantingId && fields.rated_on < day);
  const own = before.filter(({ fields }) => (fields.rater ?? "") === rater);
  return latest(own.length ? own : before, "rated_on");
}

/** Products used before, the last one first. */
export function productsUsed(store, trialId, action) {
  const used = store
    .all("care")
    .filter(({ fields }) => fields.trial_id === trialId && fields.action === action && fields.product)
    .sort((a, b) => b.fields.done_on.localeCompare(a.fields.done_on));
  return [...new Set(used.map(({ fields }) => fields.product))];
}

/** The changes that move one planter to another place of the walk: only those whose number changes, usually two. */
export function reordered(planters, from, to) {
  const order = [...planters];
  order.splice(to, 0, ...order.splice(from, 1));
  return order
    .map((planter, index) => ({ planter, walk_order: index + 1 }))
    .filter(({ planter, walk_order: place }) => planter.fields.walk_order !== place)
    .map(({ planter, walk_order: place }) => ({ kind: "planter", id: planter.id, fields: { walk_order: place } }));
}
