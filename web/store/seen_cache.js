/** What the server drew and counted, as last seen, for the page and the service worker: the oldest goes first. */

const SEEN = "figures and numbers";

/**
 * A planting has five answers (curves, numbers and the words to copy them in, about 150 kB, and two pairs of dates), so
 * that this holds 300 plantings of the latest trial, what is compared of them, the drafts of their verdicts, and much of
 * what was looked at.
 */
const MOST = 2600;
/** So many more than that may come before the oldest are looked for. */
const SLACK = 50;
let sinceLooked = SLACK;

/** In the answers of the service worker: when the server gave what is shown now that it cannot be asked. */
export const KEPT_SINCE = "Kept-Since";

/** @param {Request} request @param {Response} response */
export async function keepSeen(request, response) {
  const cache = await caches.open(SEEN);
  await cache.put(request, response);
  sinceLooked += 1;
  if (sinceLooked < SLACK) return;
  sinceLooked = 0;
  const keys = await cache.keys();
  for (const old of keys.slice(0, Math.max(0, keys.length - MOST))) await cache.delete(old);
}

/** @returns {Promise<Response | undefined>} */
export async function seenBefore(request) {
  const kept = await (await caches.open(SEEN)).match(request);
  return kept && dated(kept);
}

/** The same figure in another width, which a browser can scale, where it was never seen in this one. */
export async function seenInAnotherWidth(request) {
  const wanted = withoutWidth(request.url);
  if (wanted === request.url) return undefined;
  const cache = await caches.open(SEEN);
  const same = (await cache.keys()).find(({ url }) => withoutWidth(url) === wanted);
  return same && seenBefore(same);
}

/** @param {string[]} addresses */
export async function dropSeen(addresses) {
  const cache = await caches.open(SEEN);
  for (const address of addresses) await cache.delete(address);
}

/** @returns {Promise<Set<string>>} the addresses that are kept */
export async function keptSeen() {
  const cache = await caches.open(SEEN);
  return new Set((await cache.keys()).map(({ url }) => url));
}

function withoutWidth(url) {
  const address = new URL(url);
  address.searchParams.delete("width");
  return address.href;
}

function dated(response) {
  const headers = new Headers(response.headers);
  headers.set(KEPT_SINCE, headers.get("Date") ?? "");
  // What is kept is unpacked already.
  for (const name of ["Content-Encoding", "Content-Length"]) headers.delete(name);
  return new Response(response.body, { status: response.status, headers });
}
