/** Brings what verdicts are written from, and how sure it is, before it is asked for: so that both are there without a signal. */

import { bringAhead, keepBringing, oneAtATime } from "./bring_ahead.js";
import { verdictAddresses } from "../store/verdict_addresses.js";
import { KEPT_SINCE } from "../store/seen_cache.js";
import { isMeasuring } from "../store/queries.js";

const AT_ONCE = 2;
/** After the season itself, which is looked at more often. */
const AFTER_MS = 10_000;
const KINDS = ["measurement", "photo", "planting", "planter", "cultivar", "plant_count", "care", "finding", "rating", "verdict", "point_count"];
/** What this device remembers: from what its kept answers were made. */
const BROUGHT = "verdicts brought";

/**
 * Fetches what is missing or was made from other records.
 *
 * @param {{store: Object, device: import("../store/device_values.js").DeviceValues, fetch: typeof fetch,
 *   kept: () => Promise<Set<string>>, width: () => number, mayFetch: () => boolean, origin: string, idle: () => Promise<void>}} parts
 * @returns {() => Promise<boolean>} answers whether all could be asked for
 */
export function verdictsAhead({ store, device, kept, width, origin, ...how }) {
  return oneAtATime(async () => {
    if (isMeasuring(store) || !how.mayFetch()) return false;
    const before = (await device.get(BROUGHT)) ?? {};
    const known = await kept();
    const wanted = verdictAddresses(store, width());
    const isKept = ({ address, stamp }) => before[address] === stamp && known.has(origin + address);
    const missing = wanted.filter((one) => !isKept(one));
    const brought = Object.fromEntries(wanted.filter(isKept).map(({ address, stamp }) => [address, stamp]));
    const stamps = new Map(wanted.map(({ address, stamp }) => [address, stamp]));
    const came = (address, response) => {
      if (response.headers.get(KEPT_SINCE) === null) brought[address] = stamps.get(address);
    };
    const all = await bringAhead(missing.map(({ address }) => address), { ...how, atOnce: AT_ONCE, came });
    if (missing.length) await device.set(BROUGHT, brought);
    return all;
  });
}

export const keepVerdictsAhead = (bring, store, clock = globalThis) => keepBringing(bring, store, KINDS, AFTER_MS, clock);
