/** Brings pictures and the season ahead of need, while nothing waits and the page is idle; only where a service worker keeps what comes. */

import { keptPictures } from "./store/picture_cache.js";
import { figureWidth } from "./store/season_addresses.js";
import { dropSeen, keptSeen } from "./store/seen_cache.js";
import { keepPicturesAhead, picturesAhead } from "./sync/pictures_ahead.js";
import { keepSeasonAhead, seasonAhead } from "./sync/season_ahead.js";
import { keepVerdictsAhead, verdictsAhead } from "./sync/verdicts_ahead.js";

/** @param {import("./sync/journal.js").Journal} journal @param {import("./offline_shell.js").OfflineShell} offline */
export function bringThingsAhead(journal, offline) {
  const { store, device } = journal;
  const parts = {
    store,
    fetch: (...request) => fetch(...request),
    origin: location.origin,
    idle: () => new Promise((done) => (globalThis.requestIdleCallback ?? setTimeout)(() => done())),
    mayFetch: () => {
      const { reach, waiting } = journal.queue.state;
      return offline.isReady && reach === "yes" && !waiting && !navigator.connection?.saveData;
    },
  };
  const width = () => figureWidth(document.getElementById("main").clientWidth);
  keepPicturesAhead(picturesAhead({ ...parts, kept: keptPictures }), store);
  keepSeasonAhead(seasonAhead({ ...parts, device, kept: keptSeen, drop: dropSeen, width }), store);
  keepVerdictsAhead(verdictsAhead({ ...parts, device, kept: keptSeen, width }), store);
}
