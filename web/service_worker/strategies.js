/** How requests are answered. */

import { keepPicture, PICTURES } from "/store/picture_cache.js";
import { shellCache } from "/service_worker/shell.js";

const SEEN = "figures and numbers";
const MOST_SEEN = 400;
/** So long the server may take before what was seen last is shown instead. */
const PATIENCE_MS = 4000;

let shell = null;

/** The app's own files: those of this version. */
export async function shellElseFetch(version, request) {
  const { pathname } = new URL(request.url);
  const address = pathname === "/index.html" ? "/" : pathname;
  shell ??= caches.open(shellCache(version));
  const kept = await (await shell).match(address);
  return kept ?? fetch(request);
}

/** A picture never changes: the one that is kept is as good as the server's. */
export async function pictureElseFetch(request) {
  const kept = await (await caches.open(PICTURES)).match(request.url);
  if (kept) return kept;
  const response = await fetch(request);
  if (response.ok) await keepPicture(request.url, response.clone()).catch(() => {});
  return response;
}

export async function freshElseKept(request) {
  const cache = await caches.open(SEEN);
  const asking = fetch(request).then(async (response) => {
    if (response.ok) await keepSeen(cache, request, response.clone());
    return response;
  });
  asking.catch(() => {});
  const kept = await cache.match(request);
  if (!kept) return asking;
  const late = new Promise((resolve) => setTimeout(() => resolve(kept), PATIENCE_MS));
  return Promise.race([
    asking.then((response) => (response.status >= 500 ? kept : response)).catch(() => kept),
    late,
  ]);
}

async function keepSeen(cache, request, response) {
  try {
    await cache.put(request, response);
    const keys = await cache.keys();
    for (const old of keys.slice(0, Math.max(0, keys.length - MOST_SEEN))) await cache.delete(old);
  } catch {
    // No room: it is shown now and missing later, which is less bad than not shown.
  }
}
