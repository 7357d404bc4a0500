/** Brings pictures before they are asked for, so that they are there without a signal: the last photo of each planting, then small ones of the latest trial. */

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
  const own = plantingsInWalkOrder(store, trial.id).map((planting) => photos.get(planting.id) ?? []);
  const sent = own.map((list) => list.filter((photo) => !photo.fields.waiting));
  const last = sent.map((list) => list.at(-1)).filter(Boolean);
  const rest = sent.flat().sort(byMoment).reverse();
  const address = (size) => (photo) => `/api/photos/${photo.id}/picture?size=${size}`;
  return [
    ...new Set([
      ...last.flatMap((photo) => [address("thumb")(photo), address("screen")(photo)]),
      ...rest.map(address("thumb")),
    ]),
  ];
}

/**
 * @param {{store: Object, fetch: typeof fetch, kept: () => Promise<Set<string>>, mayFetch: () => boolean, origin: string,
 *   idle: () => Promise<void>}} parts `mayFetch`: secure, connected, and nothing of the person's own waits to be sent
 * @returns {() => Promise<number>} fetches what is missing; answers how many came
 */
export function picturesAhead({ store, fetch, kept, mayFetch, origin, idle }) {
  let running = null;
  const round = async () => {
    const known = await kept();
    const missing = wantedPictures(store).filter((address) => !known.has(origin + address));
    let came = 0;
    const next = async () => {
      while (missing.length && mayFetch()) {
        await idle();
        const address = missing.shift();
        if (!address) return;
        const response = await fetch(address).catch(() => null);
        if (!response) return void missing.splice(0);
        if (response.ok) came += 1;
        await response.arrayBuffer().catch(() => {});
      }
    };
    await Promise.all(Array.from({ length: AT_ONCE }, next));
    return came;
  };
  return () => {
    running ??= round().finally(() => {
      running = null;
    });
    return running;
  };
}

/** Looks for missing pictures after the records have changed, seldom enough not to be felt. */
export function keepPicturesAhead(bring, store, clock = globalThis) {
  let planned = false;
  const plan = () => {
    if (planned) return;
    planned = true;
    clock.setTimeout(async () => {
      planned = false;
      await bring().catch(() => {});
    }, AFTER_MS);
  };
  store.watch((kinds) => (kinds.has("photo") || kinds.has("planting")) && plan());
  plan();
}
