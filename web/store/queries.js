/** Questions to the store that more than one screen asks. */

import { trialInWords } from "../words.js";

export const byMoment = (a, b) => (a.fields.taken_at ?? "").localeCompare(b.fields.taken_at ?? "");

/** Plantings of a trial (or of all) in walking order. */
export function plantingsInWalkOrder(store, trialId = null) {
  const place = (planting) => store.get("planter", planting.fields.planter_id)?.fields.walk_order ?? Infinity;
  return store
    .all("planting")
    .filter((planting) => !trialId || planting.fields.trial_id === trialId)
    .sort(
      (a, b) => place(a) - place(b) || (a.fields.planted_on ?? "").localeCompare(b.fields.planted_on ?? ""),
    );
}

export function plantersInWalkOrder(store, trialId) {
  return store
    .all("planter")
    .filter((planter) => planter.fields.trial_id === trialId)
    .sort((a, b) => (a.fields.walk_order ?? Infinity) - (b.fields.walk_order ?? Infinity));
}

/** Photos of each planting, oldest first: planting id to list. */
export function photosByPlanting(store) {
  const photos = new Map();
  for (const photo of store.all("photo").sort(byMoment)) {
    const id = photo.fields.planting_id;
    if (!id) continue;
    if (!photos.has(id)) photos.set(id, []);
    photos.get(id).push(photo);
  }
  return photos;
}

/**
 * The current measurement of each photo: the newest, unless it was made for another planting than the
 * photo now shows. Photo id to record.
 */
export function currentMeasurements(store) {
  const newest = new Map();
  for (const measurement of store.all("measurement").sort((a, b) => a.seq - b.seq)) {
    const { photo_id: photoId, planting_id: plantingId } = measurement.fields;
    if (store.get("photo", photoId)?.fields.planting_id === plantingId) newest.set(photoId, measurement);
  }
  return newest;
}

/** Whether any photo still waits to be measured: figures are drawn anew once, at the end, not at each photo. */
export function isMeasuring(store) {
  return store.all("photo").some((photo) => photo.fields.measuring === "waiting");
}

/** Photos that wait for a person to say what they show, oldest first. */
export function unsettledPhotos(store) {
  return store
    .all("photo")
    .filter((photo) => !photo.fields.planting_id && ["suggested", "question"].includes(photo.fields.match))
    .sort(byMoment);
}

/**
 * Plantings of a trial that have photos and no frame, in walking order, each with the photo to draw it on: the first
 * that shows a card, as the planter is little overgrown there, or the first.
 */
export function unframedPlantings(store, trialId) {
  const framed = new Set(store.all("frame").map((frame) => frame.fields.planting_id));
  const photosOf = photosByPlanting(store);
  return plantingsInWalkOrder(store, trialId)
    .filter((planting) => !framed.has(planting.id) && photosOf.has(planting.id))
    .map((planting) => {
      const photos = photosOf.get(planting.id);
      return { planting, photo: photos.find((photo) => photo.fields.tag) ?? photos[0] };
    });
}

/** Cultivar, planter and a name to show for a planting; null when the planting is gone. */
export function describePlanting(store, plantingId) {
  const planting = store.get("planting", plantingId);
  if (!planting) return null;
  const cultivar = store.get("cultivar", planting.fields.cultivar_id);
  const planter = store.get("planter", planting.fields.planter_id);
  const trial = store.get("trial", planting.fields.trial_id);
  const name = cultivar?.fields.name ?? "Cultivar not known";
  return { planting, cultivar, planter, trial, name, season: seasonInWords(store, trial) };
}

/** What tells a trial from the others: nothing where it is the only one, its year, or its title where years are shared. */
export function seasonInWords(store, trial) {
  const trials = store.all("trial");
  if (!trial || trials.length < 2) return "";
  const { year } = trial.fields;
  const isAloneInItsYear = trials.every(({ id, fields }) => id === trial.id || fields.year !== year);
  return isAloneInItsYear ? String(year) : trialInWords(trial);
}

/** "grown 2025, 2026", where the journal holds several years; empty otherwise, and for what was never planted. */
export function grownInWords(store, cultivarId) {
  const yearOf = new Map(store.all("trial").map(({ id, fields }) => [id, fields.year]));
  if (new Set(yearOf.values()).size < 2) return "";
  const own = store.all("planting").filter(({ fields }) => fields.cultivar_id === cultivarId);
  const years = new Set(own.map(({ fields }) => yearOf.get(fields.trial_id)).filter(Boolean));
  return years.size ? `grown ${[...years].sort().join(", ")}` : "";
}

/**
 * The trial that a person most likely means: the one named, or the latest year in which anything is planted yet
 * (next year's may be set up long before), or the latest.
 */
export function chosenTrial(store, trialId = null, day = new Date().toISOString().slice(0, 10)) {
  const trials = store.all("trial").sort((a, b) => (b.fields.year ?? 0) - (a.fields.year ?? 0));
  const begun = new Set(
    store
      .all("planting")
      .filter(({ fields }) => fields.planted_on <= day)
      .map(({ fields }) => fields.trial_id),
  );
  return trials.find(({ id }) => id === trialId) ?? trials.find(({ id }) => begun.has(id)) ?? trials[0] ?? null;
}
