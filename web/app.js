/** Start of the web app: makes the parts, knows which address shows which screen, and nothing else. */

import { RecordStore } from "./store/record_store.js";
import { openOrDoWithout } from "./store/memory_database.js";
import { Server } from "./sync/server.js";
import { Journal } from "./sync/journal.js";
import { UnitsHere } from "./sync/units_here.js";
import { keepInStep } from "./sync/keep_in_step.js";
import { keepPicturesAhead, picturesAhead } from "./sync/pictures_ahead.js";
import { dropPictures, keptPictures } from "./store/picture_cache.js";
import { OfflineShell } from "./offline_shell.js";
import { UploadQueue } from "./sync/upload_queue.js";
import { uploadOne } from "./sync/upload_one.js";
import { startShell } from "./screens/shell.js";
import { todayScreen } from "./screens/today.js";
import { takeInScreen } from "./screens/take_in.js";
import { trayScreen } from "./screens/tray.js";
import { setAsideScreen } from "./screens/set_aside.js";
import { photoScreen } from "./screens/photo.js";
import { frameScreen } from "./screens/frame.js";
import { waitingScreen } from "./screens/waiting.js";
import { plantingsScreen } from "./screens/plantings.js";
import { plantingScreen } from "./screens/planting.js";
import { visitScreen } from "./screens/walk/visit_screen.js";
import { walkScreen } from "./screens/walk/list.js";
import { seasonScreen } from "./screens/season.js";
import { compareScreen } from "./screens/compare/overview.js";
import { twoDatesScreen } from "./screens/compare/two_dates.js";
import { sideBySideScreen } from "./screens/compare/side_by_side.js";
import { setUpScreen } from "./screens/set_up/overview.js";
import { recordScreen } from "./screens/set_up/record.js";
import { plantersScreen } from "./screens/set_up/planters.js";
import { cultivarsScreen } from "./screens/set_up/cultivars.js";
import { quickEntryScreen } from "./screens/set_up/quick_entry.js";
import { cardsScreen } from "./screens/set_up/cards.js";
import { weatherScreen } from "./screens/weather/weather_screen.js";
import { weatherFileScreen } from "./screens/weather/file_screen.js";
import { careScreen } from "./screens/care/due_screen.js";
import { carePlansScreen } from "./screens/care/plans_screen.js";
import { carePlanScreen } from "./screens/care/plan_screen.js";
import { newSeasonScreen } from "./screens/set_up/new_season.js";
import { seasonEndScreen } from "./screens/set_up/season_end.js";
import { calendarScreen } from "./screens/set_up/calendar.js";
import { settingsScreen } from "./screens/set_up/settings.js";
import { phonesScreen } from "./screens/set_up/phones.js";
import { pairScreen } from "./screens/pair.js";

const ROUTES = [
  ["", todayScreen],
  ["photos/in", takeInScreen],
  ["photos/unsettled", trayScreen],
  ["photos/set-aside", setAsideScreen],
  ["photos/:id", photoScreen],
  ["photos/:id/frame", frameScreen],
  ["walk", walkScreen],
  ["walk/:planting", visitScreen],
  ["care", careScreen],
  ["waiting", waitingScreen],
  ["plantings", plantingsScreen],
  ["plantings/:id", plantingScreen],
  ["season", seasonScreen],
  ["season/:trial", seasonScreen],
  ["compare", compareScreen],
  ["compare/dates/:planting", twoDatesScreen],
  ["compare/:by/:id", sideBySideScreen],
  ["set-up", setUpScreen],
  ["set-up/cultivars", cultivarsScreen],
  ["set-up/settings", settingsScreen],
  ["set-up/calendar", calendarScreen],
  ["set-up/phones", phonesScreen],
  ["pair", pairScreen],
  ["set-up/trials/:trial/planters", plantersScreen],
  ["set-up/trials/:trial/list", quickEntryScreen],
  ["set-up/trials/:trial/cards", cardsScreen],
  ["set-up/trials/:trial/care", carePlansScreen],
  ["set-up/trials/:trial/care/:plan", carePlanScreen],
  ["set-up/trials/:trial/weather", weatherScreen],
  ["set-up/trials/:trial/weather/file", weatherFileScreen],
  ["set-up/trials/:trial/new-season", newSeasonScreen],
  ["set-up/trials/:trial/end", seasonEndScreen],
  ["set-up/:kind/:id", recordScreen],
];

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
if (offline.isPossible) keepPicturesAhead(bringPictures(), journal.store);
addEventListener("beforeunload", (event) => {
  const lostIfClosed = !database.isLasting && journal.queue.entries.length > 0;
  if (uploads.busy || lostIfClosed) event.preventDefault();
});

function bringPictures() {
  const idle = () => new Promise((done) => (globalThis.requestIdleCallback ?? setTimeout)(() => done()));
  const mayFetch = () => {
    const { reach, waiting } = journal.queue.state;
    return offline.isReady && reach === "yes" && !waiting && !navigator.connection?.saveData;
  };
  return picturesAhead({
    store: journal.store,
    fetch: (...request) => fetch(...request),
    kept: keptPictures,
    mayFetch,
    origin: location.origin,
    idle,
  });
}
