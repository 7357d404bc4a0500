/** Today: what wants doing, how the measuring goes, the last walk, the last backup. */

import { button, element, link, live, redraw } from "./dom.js";
import { countInWords, dayInWords, daysBetween } from "../words.js";
import { byMoment, chosenTrial, describePlanting, unframedPlantings, unsettledPhotos } from "../store/queries.js";
import { plantingLink } from "./names.js";
import { thumbnail } from "./picture.js";
import { tryAgain } from "./numbers.js";
import { pickFiles } from "./pick_files.js";
import { problemNote } from "./problem.js";
import { wayToCare } from "./care/way_in.js";
import { wayToWalk } from "./walk/way_in.js";
import { frameInTurn } from "./frame.js";
import { lookAtList } from "./look_at_list.js";
import { headed, wayToSearch } from "./way_to_search.js";

/** So many plantings are named at once; more are folded away. */
const FEW = 4;
const KINDS = ["trial", "planter", "cultivar", "planting", "photo", "frame"];

export function todayScreen(context) {
  const { store, server } = context.journal;
  const now = { home: null };
  const draw = () => (store.all("planting").length ? parts(context, now.home) : firstSteps(store));
  const place = live(store, KINDS, draw, { class: "stack" });
  const about = element("div", {}, element("p", { class: "quiet" }, "…"));
  const alarm = element("div", { role: "alert" });
  askHome(
    server,
    (home) => {
      now.home = home;
      redraw(place, draw());
      redraw(about, backup(home));
      redraw(alarm, failedBackup(home));
    },
    about,
  );
  const doing = [wayToWalk(context), wayToCare(context), live(store, ["trial"], () => lookAt(context))];
  const begun = store.all("planting").length > 0;
  return {
    title: "Today",
    wide: true,
    nodes: [
      headed("Today", wayToSearch()),
      alarm,
      element(
        "div",
        { class: begun ? "stack columns" : "stack" },
        element("div", { class: "stack" }, doing),
        element("div", { class: "stack" }, place, about),
      ),
      element("div", { class: "action-bar" }, nextStep(context)),
    ],
  };
}

/** Who was not photographed for long is a section of its own below. */
function lookAt(context) {
  const trial = chosenTrial(context.journal.store);
  return trial ? lookAtList(context, { trialId: trial.id, without: ["not_photographed", "care_overdue"] }) : null;
}

async function askHome(server, tell, about) {
  try {
    tell(await server.getJson("/api/home"));
  } catch (problem) {
    redraw(
      about,
      problemNote(problem, () => askHome(server, tell, about)),
    );
  }
}

function nextStep(context) {
  const { store } = context.journal;
  const trial = chosenTrial(store);
  if (!trial) return link("#/set-up/trials/new", { class: "primary" }, "Set up a trial");
  if (!store.all("planting").length)
    return link(`#/set-up/trials/${trial.id}/list`, { class: "primary" }, "Enter the plantings");
  return pickFiles(context, "Take photos in");
}

function firstSteps(store) {
  const trial = chosenTrial(store);
  return element(
    "section",
    {},
    element(
      "p",
      { class: "lead" },
      trial ? `“${trial.fields.title}” has no plantings yet.` : "This journal is empty.",
    ),
    element(
      "ol",
      { class: "steps" },
      element("li", {}, "Set up the trial: its year and its place."),
      element("li", {}, "Enter what was planted where; a list can be pasted."),
      element("li", {}, "Print the cards and stand one in each planter."),
      element("li", {}, "Photograph each planting on your walk, and take the photos in here."),
      element("li", {}, "Draw once, on a photo of each planting, the frame that it is expected to fill."),
    ),
  );
}

function parts(context, home) {
  const { store } = context.journal;
  return [settling(store), framing(store), measuring(context), lastWalk(store), notSeen(store, home)];
}

function settling(store) {
  const waiting = unsettledPhotos(store);
  if (!waiting.length) return null;
  const suggested = waiting.filter((photo) => photo.fields.suggested_planting_id).length;
  const words = suggested
    ? `${countInWords(suggested, "suggestion")} to accept or change`
    : "No suggestion fits: say which planting each shows.";
  return element(
    "section",
    {},
    link(
      "#/photos/unsettled",
      { class: "call" },
      element("span", { class: "big signal" }, countInWords(waiting.length, "photo")),
      element("span", {}, waiting.length === 1 ? "wants settling" : "want settling"),
      element("span", { class: "quiet" }, words),
    ),
    element(
      "div",
      { class: "strip" },
      waiting
        .slice(0, 4)
        .map((photo) =>
          link("#/photos/unsettled", { tabindex: "-1", "aria-hidden": "true" }, thumbnail(photo)),
        ),
    ),
  );
}

/** A season without frames tells shares of whole photos, which depend on where the person stood. */
function framing(store) {
  const waiting = unframedPlantings(store, chosenTrial(store)?.id);
  if (!waiting.length) return null;
  return element(
    "section",
    {},
    link(
      frameInTurn(waiting[0].photo),
      { class: "call", id: "to-frames" },
      element("span", { class: "big signal" }, countInWords(waiting.length, "planting")),
      element("span", {}, waiting.length === 1 ? "wants a frame" : "want a frame"),
      element(
        "span",
        { class: "quiet" },
        "Drawn once for each: what it is expected to fill. Until then the whole photo counts.",
      ),
    ),
  );
}

function measuring(context) {
  const photos = context.journal.store.all("photo");
  const count = (state) => photos.filter((photo) => photo.fields.measuring === state).length;
  const waiting = count("waiting");
  const failed = photos.filter((photo) => photo.fields.measuring === "failed");
  if (!waiting && !failed.length) return null;
  const done = count("done");
  return element(
    "section",
    {},
    element("h2", {}, "Measuring"),
    waiting > 0 && element("progress", { value: done, max: done + waiting, "aria-label": "Photos measured" }),
    waiting > 0 &&
      element("p", {}, `${done} of ${countInWords(done + waiting, "photo")} measured. It goes on by itself.`),
    failed.length > 0 && notMeasured(context, failed),
  );
}

function notMeasured(context, photos) {
  const { store } = context.journal;
  const shown = photos.slice(0, FEW);
  const ids = photos.map((photo) => photo.id);
  return [
    element(
      "p",
      {},
      element("b", {}, `${countInWords(photos.length, "photo")} could not be measured.`),
      " Each photo’s page says why; the photos themselves are safe.",
    ),
    element(
      "div",
      { class: "strip" },
      shown.map((photo) => link(`#/photos/${photo.id}`, {}, thumbnail(photo, altFor(store, photo)))),
    ),
    button("Try them again", () => tryAgain(context, ids), { id: "measure-again" }),
  ];
}

function lastWalk(store) {
  const matched = store.all("photo").filter((photo) => photo.fields.planting_id && photo.fields.taken_at);
  if (!matched.length)
    return element(
      "section",
      {},
      element("h2", {}, "Last walk"),
      element("p", {}, "No walk yet: take photos in, and the day they were taken becomes a walk."),
    );
  const day = matched
    .map((photo) => photo.fields.taken_at.slice(0, 10))
    .sort()
    .at(-1);
  const photos = matched.filter((photo) => photo.fields.taken_at.startsWith(day)).sort(byMoment);
  const plantings = new Set(photos.map((photo) => photo.fields.planting_id));
  return element(
    "section",
    {},
    element("h2", {}, "Last walk"),
    element(
      "p",
      {},
      `${dayInWords(day)}: ${countInWords(photos.length, "photo")} of ${countInWords(plantings.size, "planting")}.`,
    ),
    element(
      "div",
      { class: "strip" },
      photos
        .slice(0, 8)
        .map((photo) => link(`#/photos/${photo.id}`, {}, thumbnail(photo, altFor(store, photo)))),
    ),
  );
}

const altFor = (store, photo) =>
  `Photo of ${describePlanting(store, photo.fields.planting_id)?.name ?? "a planting"}`;

/** Plantings that the server names as not photographed for long (how long is a setting). */
function notSeen(store, home) {
  const rows = home?.not_seen
    ?.map((row) => ({ ...row, known: describePlanting(store, row.planting_id) }))
    .filter(({ known }) => known);
  if (!rows?.length) return null;
  return element(
    "section",
    {},
    element("h2", {}, "Not photographed for long"),
    rows.length > FEW ? foldedAway(rows) : element("ul", { class: "rows" }, rows.map(unseenRow)),
  );
}

function foldedAway(rows) {
  const longest = Math.max(...rows.map(({ days }) => days));
  const words = `${countInWords(rows.length, "planting")}, the longest for ${countInWords(longest, "day")}`;
  return element(
    "details",
    { id: "not-seen" },
    element("summary", {}, words),
    element("ul", { class: "rows" }, rows.map(unseenRow)),
  );
}

function unseenRow({ known, days, ever }) {
  const words = ever === false ? `never, ${days} days since planting` : `${countInWords(days, "day")} ago`;
  return element("li", {}, plantingLink(known), " ", element("span", { class: "quiet" }, words));
}

/** Never silent: a scheduled backup that failed stands at the top until one succeeds. */
function failedBackup({ backup: told }) {
  if (!told?.failure) return null;
  return element(
    "div",
    { class: "problem" },
    element("p", {}, element("b", {}, "The last backup failed. "), told.failure.says),
    link("#/set-up/backup", {}, "See to the backup"),
  );
}

function backup(home) {
  const { last_backup: good } = home;
  const words = good ? `Last good backup on ${dayInWords(good)}${agoInWords(good, home.journal?.today)}.` : "Never backed up. ";
  return element(
    "section",
    {},
    element("h2", {}, "Backup"),
    element("p", { class: "quiet" }, words, !good && "Photos of a season cannot be taken again."),
    !home.backup?.scheduled && link("#/set-up/backup", {}, "Back up by itself into a folder"),
  );
}

function agoInWords(moment, today) {
  const days = today ? daysBetween(moment.slice(0, 10), today) : 0;
  return days > 0 ? `, ${countInWords(days, "day")} ago` : "";
}
