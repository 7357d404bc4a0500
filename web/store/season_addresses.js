/** Where the server answers a season's pictures and numbers: what screens ask for, and what is brought ahead of them. Pure. */

import { comparisonAddresses, pairAddresses } from "./comparison_addresses.js";
import { chosenTrial, photosByPlanting, plantingsInWalkOrder } from "./queries.js";

/** @typedef {{sort: string, group: string}} Order of the timeline's rows */

/** @type {Order} */
export const WALKING_ORDER = { sort: "walk", group: "none" };
/** Plantings of which everything is brought ahead; the rest is kept when it is looked at. */
const MOST_PLANTINGS = 300;
/** A season whose last photo is older than this is over: then its last walk is told. */
const OVER_AFTER_DAYS = 21;
const DAY_MS = 86_400_000;

/** The width in which a figure is drawn for so much room on the page. */
export const figureWidth = (roomPx) => Math.min(Math.max(Math.round(roomPx || 358), 300), 1200);

/** @param {string} trialId @param {Order} order */
export function timelineQuery(trialId, { sort, group }) {
  const query = new URLSearchParams({ trial: trialId });
  if (sort !== WALKING_ORDER.sort) query.set("sort", sort);
  if (group !== WALKING_ORDER.group) query.set("group", group);
  return query.toString();
}

export const curvesAddress = (plantingId, width) => `/api/plantings/${plantingId}/curves?width=${width}`;
export const summaryAddress = (plantingId) => `/api/plantings/${plantingId}/summary`;
export const quotesAddress = (plantingId) => `/api/plantings/${plantingId}/quotes`;
export const photoQuotesAddress = (photoId) => `/api/photos/${photoId}/quotes`;
export const weatherAddress = (trialId) => `/api/weather?trial=${trialId}`;

/** @param {{trialId?: string, plantingId?: string, day?: string}} of `day`: as of an earlier one */
export function lookAtAddress(store, of) {
  const path = of.plantingId ? `/api/plantings/${of.plantingId}/look-at?` : `/api/look-at?trial=${of.trialId}&`;
  const day = of.day ?? lastDayIfOver(store, of);
  return path + (day ? `day=${day}` : "");
}

/** The day of the last photo where it is long ago, else null: then the things of today are meant. */
export function lastDayIfOver(store, { trialId, plantingId }, now = Date.now()) {
  const photos = photosByPlanting(store);
  const ids = plantingId
    ? [plantingId]
    : store.all("planting").filter(({ fields }) => fields.trial_id === trialId).map(({ id }) => id);
  const last = ids.map((id) => photos.get(id)?.at(-1)?.fields.taken_at ?? "").sort().at(-1);
  if (!last) return null;
  return now - Date.parse(last) > OVER_AFTER_DAYS * DAY_MS ? last.slice(0, 10) : null;
}

/** The days on which plantings of a trial were photographed, the newest first. */
export function walkDays(store, trialId) {
  const photos = photosByPlanting(store);
  const taken = plantingsInWalkOrder(store, trialId).flatMap(({ id }) => photos.get(id) ?? []);
  return [...new Set(taken.map(({ fields }) => fields.taken_at?.slice(0, 10)).filter(Boolean))].sort().reverse();
}

/**
 * What the screens Season, Today, planting, Compare and Weather ask for of the latest trial, the most wanted first. A
 * stamp changes when the answer may have.
 *
 * @param {Object} store @param {{width: number, order: Order, choices?: Object}} here `choices`: what the server says can
 *   be compared
 * @returns {{address: string, stamp: string}[]}
 */
export function seasonAddresses(store, { width, order, choices = {} }) {
  const trial = chosenTrial(store);
  if (!trial) return [];
  const queries = new Set([timelineQuery(trial.id, order), timelineQuery(trial.id, WALKING_ORDER)]);
  const ofTrial = [
    ...[...queries].map((query) => `/api/timeline.svg?${query}&width=${width}`),
    lookAtAddress(store, { trialId: trial.id }),
    ...[...queries].map((query) => `/api/timeline?${query}`),
    weatherAddress(trial.id),
  ];
  const plantings = plantingsInWalkOrder(store, trial.id).slice(0, MOST_PLANTINGS);
  const stamps = plantingStamps(store, plantings);
  const stamped = ({ address, planting }) => ({ address, stamp: stamps.get(planting) });
  const pairs = pairAddresses(store, plantings);
  const compared = comparedStamp(store);
  return [
    ...ofTrial.map((address) => ({ address, stamp: `${store.cursor}` })),
    ...plantings.flatMap(({ id }) =>
      [curvesAddress(id, width), summaryAddress(id), quotesAddress(id)].map((address) => ({ address, stamp: stamps.get(id) })),
    ),
    ...comparisonAddresses(store, trial.id, choices, width).map((address) => ({ address, stamp: compared })),
    ...pairs.numbers.map(stamped),
    ...pairs.laidOver.map(stamped),
  ];
}

const COMPARED_KINDS = ["trial", "cultivar", "planter", "planting", "photo", "measurement", "plant_count", "finding"];

/** Changes with whatever a comparison rests on: how many records there are, and the newest change of them. */
export function comparedStamp(store) {
  const records = COMPARED_KINDS.flatMap((kind) => store.all(kind));
  return `${records.length} ${records.reduce((newest, { seq }) => Math.max(newest, seq ?? 0), 0)}`;
}

/** For each planting how many records its season rests on, and the newest change of them. @returns {Map<string, string>} */
function plantingStamps(store, plantings) {
  const found = new Map(plantings.map((planting) => [planting.id, { count: 0, newest: 0 }]));
  const add = (id, record) => {
    const one = record && found.get(id);
    if (!one) return;
    one.count += 1;
    one.newest = Math.max(one.newest, record.seq ?? 0);
  };
  for (const planting of plantings) {
    add(planting.id, planting);
    add(planting.id, store.get("cultivar", planting.fields.cultivar_id));
    add(planting.id, store.get("planter", planting.fields.planter_id));
  }
  for (const kind of ["photo", "measurement", "plant_count"])
    for (const record of store.all(kind)) add(record.fields.planting_id, record);
  return new Map([...found].map(([id, { count, newest }]) => [id, `${count} ${newest}`]));
}
