/** Start of the web app: makes the parts and nothing else. */

import { RecordStore } from "./store/record_store.js";
import { openOrDoWithout } from "./store/memory_database.js";
import { Server } from "./sync/server.js";
import { Journal } from "./sync/journal.js";
import { UnitsHere } from "./sync/units_here.js";
import { keepInStep } from "./sync/keep_in_step.js";
import { keepPicturesAhead, picturesAhead } from "./sync/pictures_ahead.js";
import { keepSeasonAhead, seasonAhead } from "./sync/season_ahead.js";
import { dropPictures, keptPictures } from "./store/picture_cache.js";
import { figureWidth } from "./store/season_addresses.js";
import { keptSeen } from "./store/seen_cache.js";
import { OfflineShell } from "./offline_shell.js";
import { UploadQueue } from "./sync/upload_queue.js";
import { uploadOne } from "./sync/upload_one.js";
import { startShell } from "./screens/shell.js";
import { ROUTES } from "./routes.js";

const app = document.getElementById("app");
const blocked =
  "An older version of the journal is open in another tab. Close that tab to go on; everything kept is safe.";
const database = await openOrDoWithout({ tellBlocked: () => (app.textContent = blocked) }).catch(
  (problem) => {
    app.textContent = problem.message;
    throw problem;
  },
);
const server = new Server((...request) => fetch(...request));
const journal = new Journal(new RecordStore(), server, database, {
  locks: navigator.locks,
  storage: navigator.storage,
  Channel: globalThis.BroadcastChannel,
  makeRoom: dropPictures,
});
const uploads = new UploadQueue(async (file, how) => {
  const answer = await uploadOne(file, { ...how, openRequest: () => new XMLHttpRequest() });
  journal.store.receive([answer.photo]);
  return answer;
});
const offline = new OfflineShell();
const units = new UnitsHere(journal);
await units.open();
await startShell(app, ROUTES, { journal, uploads, offline, units });
const step = keepInStep(journal);
step.wake();
addEventListener("online", step.wake);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && step.wake());
await offline.start();
if (offline.isPossible) bringThingsAhead();
else for (const [, screen] of ROUTES) await screen.load().catch(() => {});
addEventListener("beforeunload", (event) => {
  const lostIfClosed = !database.isLasting && journal.queue.entries.length > 0;
  if (uploads.busy || lostIfClosed) event.preventDefault();
});

/** While nothing waits and the page is idle; only where a service worker keeps what comes. */
function bringThingsAhead() {
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
  keepSeasonAhead(seasonAhead({ ...parts, device, kept: keptSeen, width }), store);
}
