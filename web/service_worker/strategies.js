/** How requests are answered. */

import { keepPicture, PICTURES } from "/store/picture_cache.js";
import { keepSeen, seenBefore, seenInAnotherWidth } from "/store/seen_cache.js";
import { shellCache } from "/service_worker/shell.js";

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

/** What is kept says since when, so that the page can say so. */
export async function freshElseKept(request) {
  const asking = fetch(request).then(async (response) => {
    // Without room it is shown now and missing later, which is less bad than not shown.
    if (response.ok) await keepSeen(request, response.clone()).catch(() => {});
    return response;
  });
  asking.catch(() => {});
  const kept = await seenBefore(request);
  if (!kept) {
    return asking.catch(async (problem) => {
      const other = await seenInAnotherWidth(request);
      if (!other) throw problem;
      return other;
    });
  }
  const late = new Promise((resolve) => setTimeout(() => resolve(kept), PATIENCE_MS));
  return Promise.race([
    asking.then((response) => (response.status >= 500 ? kept : response)).catch(() => kept),
    late,
  ]);
}
