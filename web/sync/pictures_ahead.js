/**
 * Brings pictures before they are asked for, so that they are there without a signal: the last photo of each planting,
 * small ones of all of the latest trial, and those that two dates are compared with.
 */

import { bringAhead, keepBringing, oneAtATime } from "./bring_ahead.js";
import { photosUnder } from "../store/comparison_addresses.js";
import { byMoment, chosenTrial, photosByPlanting, plantingsInWalkOrder } from "../store/queries.js";

const AT_ONCE = 3;
const AFTER_MS = 3000;

/**
 * @param {import("../store/record_store.js").RecordStore} store
 * @returns {string[]} addresses, the most wanted first
 */
export function wantedPictures(store) {
  const trial = chosenTrial(store);
  if (!trial) return [];
  const photos = photosByPlanting(store);
  const plantings = plantingsInWalkOrder(store, trial.id);
  const own = plantings.map((planting) => photos.get(planting.id) ?? []);
  const sent = own.map((list) => list.filter((photo) => !photo.fields.waiting));
  const last = sent.map((list) => list.at(-1)).filter(Boolean);
  const rest = sent.flat().sort(byMoment).reverse();
  const address = (size) => (photo) => `/api/photos/${photo.id}/picture?size=${size}`;
  return [
    ...new Set([
      ...last.flatMap((photo) => [address("thumb")(photo), address("screen")(photo)]),
      ...rest.map(address("thumb")),
      ...photosUnder(store, plantings).map(address("screen")),
    ]),
  ];
}

/**
 * @param {{store: Object, fetch: typeof fetch, kept: () => Promise<Set<string>>, mayFetch: () => boolean, origin: string,
 *   idle: () => Promise<void>}} parts `mayFetch`: secure, connected, and nothing of the person's own waits to be sent
 * @returns {() => Promise<boolean>} fetches what is missing; answers whether all could be asked for
 */
export function picturesAhead({ store, kept, origin, ...how }) {
  return oneAtATime(async () => {
    const known = await kept();
    const missing = wantedPictures(store).filter((address) => !known.has(origin + address));
    return bringAhead(missing, { ...how, atOnce: AT_ONCE });
  });
}

export const keepPicturesAhead = (bring, store, clock = globalThis) =>
  keepBringing(bring, store, ["photo", "planting"], AFTER_MS, clock);
