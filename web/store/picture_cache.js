/** The server's pictures on this device, for the page and the service worker; kept up to a number of each size, the oldest go first. */

export const PICTURES = "pictures";

/** About 80 MB of thumbnails (20 kB each) and 90 MB of large ones (300 kB each) at the very most. */
const MOST = { thumb: 4000, screen: 300 };
/** So many more than that may come before the oldest are looked for: looking takes longer the more there are. */
const SLACK = 40;
let sinceLooked = SLACK;

const sizeOf = (address) => new URL(address).searchParams.get("size");

/** @param {string} address absolute @param {Response} response */
export async function keepPicture(address, response) {
  const cache = await caches.open(PICTURES);
  await cache.put(address, response);
  sinceLooked += 1;
  if (sinceLooked < SLACK) return;
  sinceLooked = 0;
  for (const size of Object.keys(MOST)) await dropOldest(cache, size);
}

async function dropOldest(cache, size) {
  const ofSize = (await cache.keys()).filter((request) => sizeOf(request.url) === size);
  for (const request of ofSize.slice(0, Math.max(0, ofSize.length - MOST[size]))) await cache.delete(request);
}

/** @returns {Promise<Set<string>>} the addresses that are kept */
export async function keptPictures() {
  const cache = await caches.open(PICTURES);
  return new Set((await cache.keys()).map((request) => request.url));
}

/** Makes room for what cannot be had again: pictures can. */
export async function dropPictures() {
  if (globalThis.caches) await caches.delete(PICTURES);
}
