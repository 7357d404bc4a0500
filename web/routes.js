/**
 * Which address shows which screen. A screen's files are loaded when it is first shown; without the server they come
 * from what the service worker keeps.
 *
 * @type {[string, (context: Object, params: Object) => Promise<{title: string, nodes: Node[], wide?: boolean, leave?: () => void}>][]}
 */
export const ROUTES = [
  ["", () => import("./screens/today.js"), "todayScreen"],
  ["photos/in", () => import("./screens/take_in.js"), "takeInScreen"],
  ["photos/unsettled", () => import("./screens/tray.js"), "trayScreen"],
  ["photos/set-aside", () => import("./screens/set_aside.js"), "setAsideScreen"],
  ["photos/:id", () => import("./screens/photo.js"), "photoScreen"],
  ["photos/:id/frame", () => import("./screens/frame.js"), "frameScreen"],
  ["photos/:id/count", () => import("./screens/count/count_screen.js"), "countScreen"],
  ["photos/:id/correct", () => import("./screens/correct/correct_screen.js"), "correctScreen"],
  ["walk", () => import("./screens/walk/list.js"), "walkScreen"],
  ["walk/:planting", () => import("./screens/walk/visit_screen.js"), "visitScreen"],
  ["care", () => import("./screens/care/due_screen.js"), "careScreen"],
  ["search", () => import("./screens/search.js"), "searchScreen"],
  ["waiting", () => import("./screens/waiting.js"), "waitingScreen"],
  ["plantings", () => import("./screens/plantings.js"), "plantingsScreen"],
  ["plantings/:id", () => import("./screens/planting.js"), "plantingScreen"],
  ["season", () => import("./screens/season.js"), "seasonScreen"],
  ["season/:trial", () => import("./screens/season.js"), "seasonScreen"],
  ["season/:trial/walks", () => import("./screens/earlier_walks.js"), "earlierWalksScreen"],
  ["season/:trial/numbers", () => import("./screens/numbers_out.js"), "numbersOutScreen"],
  ["compare", () => import("./screens/compare/overview.js"), "compareScreen"],
  ["compare/dates/:planting", () => import("./screens/compare/two_dates.js"), "twoDatesScreen"],
  ["compare/:by/:id", () => import("./screens/compare/side_by_side.js"), "sideBySideScreen"],
  ["review", () => import("./screens/review/overview.js"), "reviewScreen"],
  ["review/:trial", () => import("./screens/review/overview.js"), "reviewScreen"],
  ["review/verdict/:trial/:cultivar/:place", () => import("./screens/review/verdict.js"), "verdictScreen"],
  ["review/reports/:trial", () => import("./screens/review/reports.js"), "reportsScreen"],
  ["review/reports/:trial/share", () => import("./screens/review/share.js"), "shareScreen"],
  ["review/how-sure/:trial", () => import("./screens/review/how_sure.js"), "howSureScreen"],
  ["set-up", () => import("./screens/set_up/overview.js"), "setUpScreen"],
  ["set-up/cultivars", () => import("./screens/set_up/cultivars.js"), "cultivarsScreen"],
  ["set-up/settings", () => import("./screens/set_up/settings.js"), "settingsScreen"],
  ["set-up/calendar", () => import("./screens/set_up/calendar.js"), "calendarScreen"],
  ["set-up/backup", () => import("./screens/set_up/backups.js"), "backupsScreen"],
  ["set-up/phones", () => import("./screens/set_up/phones.js"), "phonesScreen"],
  ["pair", () => import("./screens/pair.js"), "pairScreen"],
  ["set-up/trials/:trial/planters", () => import("./screens/set_up/planters.js"), "plantersScreen"],
  ["set-up/trials/:trial/list", () => import("./screens/set_up/quick_entry.js"), "quickEntryScreen"],
  ["set-up/trials/:trial/list/file", () => import("./screens/set_up/list_file.js"), "listFileScreen"],
  ["set-up/trials/:trial/export", () => import("./screens/set_up/take_out.js"), "takeOutScreen"],
  ["set-up/trials/:trial/cards", () => import("./screens/set_up/cards.js"), "cardsScreen"],
  ["set-up/trials/:trial/care", () => import("./screens/care/plans_screen.js"), "carePlansScreen"],
  ["set-up/trials/:trial/care/:plan", () => import("./screens/care/plan_screen.js"), "carePlanScreen"],
  ["set-up/trials/:trial/weather", () => import("./screens/weather/weather_screen.js"), "weatherScreen"],
  [
    "set-up/trials/:trial/weather/file",
    () => import("./screens/weather/file_screen.js"),
    "weatherFileScreen",
  ],
  ["set-up/trials/:trial/new-season", () => import("./screens/set_up/new_season.js"), "newSeasonScreen"],
  ["set-up/trials/:trial/end", () => import("./screens/set_up/season_end.js"), "seasonEndScreen"],
  ["set-up/:kind/:id", () => import("./screens/set_up/record.js"), "recordScreen"],
].map(([pattern, load, name]) => [pattern, Object.assign(opened(load, name), { load })]);

/** A screen as the shell knows it: a function that answers what is shown, here once its files are there. */
function opened(load, name) {
  return async (context, params) => (await load())[name](context, params);
}
