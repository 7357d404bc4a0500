/** Start of the web app: makes the parts and nothing else. */

import { RecordStore } from "./store/record_store.js";
import { openOrDoWithout } from "./store/memory_database.js";
import { Server } from "./sync/server.js";
import { Journal } from "./sync/journal.js";
import { UnitsHere } from "./sync/units_here.js";
import { keepInStep } from "./sync/keep_in_step.js";
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
  makeRoom: async () => (await import("./store/picture_cache.js")).dropPictures(),
});
const uploads = new UploadQueue(async (file, how) => {
  const answer = await uploadOne(file, { ...how, openRequest: () => new XMLHttpRequest() });
  journal.store.receive([answer.photo]);
  return answer;
});
const offline = new OfflineShell();
const units = new UnitsHere(journal);
await units.open();
const { shown } = await startShell(app, ROUTES, { journal, uploads, offline, units });
const step = keepInStep(journal);
step.wake();
addEventListener("online", step.wake);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && step.wake());
await offline.start();
addEventListener("beforeunload", (event) => {
  const lostIfClosed = !database.isLasting && journal.queue.entries.length > 0;
  if (uploads.busy || lostIfClosed) event.preventDefault();
});
// What the first screen does not need is loaded after it.
await shown;
if (offline.isPossible)
  import("./things_ahead.js").then((ahead) => ahead.bringThingsAhead(journal, offline)).catch(() => {});
else for (const [, screen] of ROUTES) await screen.load().catch(() => {});
