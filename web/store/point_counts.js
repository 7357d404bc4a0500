/** Point counts of a photo as this device knows them, and the one under way here, kept after each point. */

import { currentMeasurements } from "./queries.js";

const draftName = (photoId) => `point count ${photoId}`;

const ofPhoto = (store, photoId) =>
  store
    .all("point_count")
    .filter(({ fields }) => fields.photo_id === photoId)
    .sort((a, b) => (a.seq || Infinity) - (b.seq || Infinity));

/** Counts of a photo that were ended, the oldest first. */
export const endedCounts = (store, photoId) => ofPhoto(store, photoId).filter(({ fields }) => fields.ended);

/** The newest count of a photo that was begun and not ended; null where there is none. */
export const begunCount = (store, photoId) =>
  ofPhoto(store, photoId)
    .filter(({ fields }) => !fields.ended)
    .at(-1) ?? null;

export const howSureAddress = (trialId) => `/api/review/how-sure?trial=${trialId}`;
export const AGREEMENT = { path: "/api/review/agreement.svg", table: "/api/review/agreement" };
export const agreementQuery = (trialId, of) => `trial=${trialId}&of=${of}`;
/** So few photos draw no plot. */
export const PHOTOS_FOR_A_PLOT = 3;
const COUNTED_NUMBERS = ["canopy_fill", "bloom_cover", "spent_share"];

/** The plots of how sure, each with its table. @param {number} counted photos */
export function howSureFigures(trialId, counted, width) {
  if (counted < PHOTOS_FOR_A_PLOT) return [];
  return COUNTED_NUMBERS.map((of) => agreementQuery(trialId, of)).flatMap((query) => [
    `${AGREEMENT.path}?${query}&width=${width}`,
    `${AGREEMENT.table}?${query}`,
  ]);
}

/** @returns {{polygon: [number, number][] | null} | {why: string}} the frame that points are laid in, null for the whole photo */
export function frameForPoints(store, photo) {
  const measurement = currentMeasurements(store).get(photo.id);
  if (photo.fields.measuring === "failed")
    return { why: "This photo could not be measured, so there is nothing to hold a count against." };
  if (!measurement || photo.fields.measuring === "waiting")
    return { why: "This photo is measured first, so that the points lie in its frame. Then the count begins here." };
  return { polygon: measurement.fields.frame_polygon ?? null };
}

/** The count under way on this device. @typedef {{id: string, fields: Object, at: number}} Draft */

export class Drafts {
  /** @param {import("./device_values.js").DeviceValues} device */
  constructor(device) {
    this.device = device;
  }

  /** @returns {Promise<Draft | null>} */
  async of(photoId) {
    return (await this.device.get(draftName(photoId))) ?? null;
  }

  keep(photoId, draft) {
    return this.device.set(draftName(photoId), draft);
  }

  forget(photoId) {
    return this.device.set(draftName(photoId), null);
  }
}
