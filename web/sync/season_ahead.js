/** Brings the latest trial's season before it is asked for: the timeline, what to look at, each planting's curves and summary. */

import { bringAhead, keepBringing, oneAtATime } from "./bring_ahead.js";
import { WALKING_ORDER, seasonAddresses } from "../store/season_addresses.js";
import { KEPT_SINCE } from "../store/seen_cache.js";
import { isMeasuring } from "../store/queries.js";

const AT_ONCE = 2;
const AFTER_MS = 5000;
const KINDS = ["measurement", "photo", "planting", "planter", "cultivar", "plant_count", "care", "weather"];
/** Names of what this device remembers: how its timeline is ordered, and from what its kept answers were made. */
export const ORDER_HERE = "season order";
const BROUGHT = "season brought";

/**
 * Fetches what is missing or was made from other records. While photos are being measured it waits for the last of them.
 *
 * @param {{store: Object, device: import("../store/device_values.js").DeviceValues, fetch: typeof fetch,
 *   kept: () => Promise<Set<string>>, width: () => number, mayFetch: () => boolean, origin: string, idle: () => Promise<void>}} parts
 * @returns {() => Promise<boolean>} answers whether all could be asked for
 */
export function seasonAhead({ store, device, kept, width, origin, ...how }) {
  return oneAtATime(async () => {
    if (isMeasuring(store) || !how.mayFetch()) return false;
    const order = (await device.get(ORDER_HERE)) ?? WALKING_ORDER;
    const before = (await device.get(BROUGHT)) ?? {};
    const wanted = seasonAddresses(store, { width: width(), order });
    const known = await kept();
    const isKept = ({ address, stamp }) => before[address] === stamp && known.has(origin + address);
    const missing = wanted.filter((one) => !isKept(one));
    if (!missing.length) return true;
    const stamps = new Map(wanted.map(({ address, stamp }) => [address, stamp]));
    const brought = Object.fromEntries(wanted.filter(isKept).map(({ address, stamp }) => [address, stamp]));
    const came = (address, response) => {
      if (response.headers.get(KEPT_SINCE) === null) brought[address] = stamps.get(address);
    };
    const all = await bringAhead(missing.map(({ address }) => address), { ...how, atOnce: AT_ONCE, came });
    await device.set(BROUGHT, brought);
    return all;
  });
}

export const keepSeasonAhead = (bring, store, clock = globalThis) =>
  keepBringing(bring, store, KINDS, AFTER_MS, clock);
