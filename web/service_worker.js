/** The service worker: only passes events on. What to do with which address: service_worker/routes.js. */

import { VERSION, FILES } from "/service_worker/list.js";
import { routeOf } from "/service_worker/routes.js";
import { freshElseKept, pictureElseFetch, shellElseFetch } from "/service_worker/strategies.js";
import { dropOldShells, keepShell } from "/service_worker/shell.js";

const STRATEGIES = {
  shell: (request) => shellElseFetch(VERSION, request),
  picture: pictureElseFetch,
  fresh: freshElseKept,
};

addEventListener("install", (event) => event.waitUntil(keepShell(VERSION, FILES)));

addEventListener("activate", (event) =>
  event.waitUntil(dropOldShells(VERSION).then(() => globalThis.clients.claim())),
);

addEventListener("fetch", (event) => {
  const route = routeOf(event.request, globalThis.location.origin, FILES);
  if (route) event.respondWith(STRATEGIES[route](event.request));
});

/** A new version waits until a person says so, or until all pages are closed. */
addEventListener("message", (event) => event.data === "use this version" && globalThis.skipWaiting());
