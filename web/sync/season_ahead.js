/** Brings the latest trial's season before it is asked for: timeline, what to look at, plantings, comparisons, weather sums. */

import { bringAhead, keepBringing, oneAtATime } from "./bring_ahead.js";
import { CHOICES } from "../store/comparison_addresses.js";
import { WALKING_ORDER, comparedStamp, seasonAddresses } from "../store/season_addresses.js";
import { KEPT_SINCE } from "../store/seen_cache.js";
import { isMeasuring } from "../store/queries.js";

const AT_ONCE = 2;
const AFTER_MS = 5000;
const KINDS = ["measurement", "photo", "planting", "planter", "cultivar", "plant_count", "finding", "care", "weather"];
/** Names of what this device remembers: how its timeline is ordered, and from what its kept answers were made. */
export const ORDER_HERE = "season order";
const BROUGHT = "season brought";
const COMPARABLE = "what can be compared";

/**
 * Fetches what is missing or was made from other records. While photos are being measured it waits for the last of them.
 *
 * @param {{store: Object, device: import("../store/device_values.js").DeviceValues, fetch: typeof fetch,
 *   kept: () => Promise<Set<string>>, drop: (addresses: string[]) => Promise<void>, width: () => number, mayFetch: () => boolean,
 *   origin: string, idle: () => Promise<void>}} parts `drop`: lets go of pairs of photos that others have followed
 * @returns {() => Promise<boolean>} answers whether all could be asked for
 */
export function seasonAhead({ store, device, kept, drop, width, origin, ...how }) {
  return oneAtATime(async () => {
    if (isMeasuring(store) || !how.mayFetch()) return false;
    const order = (await device.get(ORDER_HERE)) ?? WALKING_ORDER;
    const before = (await device.get(BROUGHT)) ?? {};
    const known = await kept();
    const choices = await comparable(store, device, how.fetch, known.has(origin + CHOICES));
    const wanted = seasonAddresses(store, { width: width(), order, choices });
    const isKept = ({ address, stamp }) => before[address] === stamp && known.has(origin + address);
    const missing = wanted.filter((one) => !isKept(one));
    if (!missing.length) return true;
    const stamps = new Map(wanted.map(({ address, stamp }) => [address, stamp]));
    const brought = Object.fromEntries(wanted.filter(isKept).map(({ address, stamp }) => [address, stamp]));
    const came = (address, response) => {
      if (response.headers.get(KEPT_SINCE) === null) brought[address] = stamps.get(address);
    };
    const all = await bringAhead(missing.map(({ address }) => address), { ...how, atOnce: AT_ONCE, came });
    await drop(Object.keys(before).filter((address) => isOfTwoPhotos(address) && !stamps.has(address)));
    await device.set(BROUGHT, brought);
    return all;
  });
}

/** What the server says can be compared; asked again when it may have changed. */
async function comparable(store, device, fetch, isKept) {
  const stamp = comparedStamp(store);
  const known = await device.get(COMPARABLE);
  if (isKept && known?.stamp === stamp) return known.choices;
  const response = await fetch(CHOICES).catch(() => null);
  const choices = response?.ok ? await response.json().catch(() => null) : null;
  if (!choices) return known?.choices ?? {};
  await device.set(COMPARABLE, { stamp, choices });
  return choices;
}

const isOfTwoPhotos = (address) => /^\/api\/compare\/(dates|registration|registered)\?/.test(address);

export const keepSeasonAhead = (bring, store, clock = globalThis) =>
  keepBringing(bring, store, KINDS, AFTER_MS, clock);
