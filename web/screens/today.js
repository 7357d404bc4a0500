/** Today: what wants doing, how the measuring goes, the last walk, the last backup. */

import { element, link, live } from "./dom.js";
import { countInWords, dayInWords, daysBetween, shortDayInWords } from "../words.js";
import { describePlanting, photosByPlanting, plantingsInWalkOrder, unsettledPhotos } from "../store/queries.js";
import { plantingLink } from "./names.js";
import { thumbnail } from "./picture.js";
import { pickFiles } from "./pick_files.js";

const LONG_DAYS = 14;
const KINDS = ["trial", "planter", "cultivar", "planting", "photo"];

export function todayScreen(context) {
  const { store } = context.journal;
  const backup = element("p", { class: "quiet" }, "…");
  sayLastBackup(context.journal.server, backup);
  return {
    title: "Today",
    nodes: [
      element("h1", {}, "Today"),
      live(store, KINDS, () => (store.all("planting").length ? parts(store) : firstSteps(store)), { class: "stack" }),
      element("section", {}, element("h2", {}, "Backup"), backup),
      store.all("trial").length ? element("div", { class: "action-bar" }, pickFiles(context, "Take photos in")) : null,
    ],
  };
}

function firstSteps(store) {
  const trial = store.all("trial")[0];
  const next = trial
    ? link(`#/set-up/trials/${trial.id}/list`, { class: "primary" }, "Enter the plantings")
    : link("#/set-up/trials/new", { class: "primary" }, "Set up a trial");
  return element(
    "section",
    {},
    element("p", { class: "lead" }, trial ? `“${trial.fields.title}” has no plantings yet.` : "This journal is empty."),
    element(
      "ol",
      { class: "steps" },
      element("li", {}, "Set up the trial: its year and its place."),
      element("li", {}, "Enter what was planted where; a list can be pasted."),
      element("li", {}, "Print the cards and stand one in each planter."),
      element("li", {}, "Photograph each planting on your walk, and take the photos in here."),
    ),
    next,
  );
}

function parts(store) {
  return [settling(store), measuring(store), lastWalk(store), notSeen(store)];
}

function settling(store) {
  const waiting = unsettledPhotos(store);
  if (!waiting.length) return null;
  const suggested = waiting.filter((photo) => photo.fields.match === "suggested").length;
  const words = suggested ? `${countInWords(suggested, "suggestion")} to accept or change` : "No suggestion fits: say which planting each shows.";
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
    element("div", { class: "strip" }, waiting.slice(0, 4).map((photo) => link("#/photos/unsettled", { tabindex: "-1", "aria-hidden": "true" }, thumbnail(photo)))),
  );
}

function measuring(store) {
  const photos = store.all("photo");
  const count = (state) => photos.filter((photo) => photo.fields.measuring === state).length;
  const [waiting, failed] = [count("waiting"), count("failed")];
  if (!waiting && !failed) return null;
  const done = count("done");
  return element(
    "section",
    {},
    element("h2", {}, "Measuring"),
    waiting > 0 && element("progress", { value: done, max: done + waiting, "aria-label": "Photos measured" }),
    waiting > 0 && element("p", {}, `${done} of ${countInWords(done + waiting, "photo")} measured. It goes on by itself.`),
    failed > 0 && element("p", {}, element("b", {}, `${countInWords(failed, "photo")} could not be measured.`), " Each photo's page says why."),
  );
}

function lastWalk(store) {
  const matched = store.all("photo").filter((photo) => photo.fields.planting_id && photo.fields.taken_at);
  if (!matched.length) return element("section", {}, element("h2", {}, "Last walk"), element("p", {}, "No walk yet: take photos in, and the day they were taken becomes a walk."));
  const day = matched.map((photo) => photo.fields.taken_at.slice(0, 10)).sort().at(-1);
  const photos = matched.filter((photo) => photo.fields.taken_at.startsWith(day));
  const plantings = new Set(photos.map((photo) => photo.fields.planting_id));
  return element(
    "section",
    {},
    element("h2", {}, "Last walk"),
    element("p", {}, `${dayInWords(day)}: ${countInWords(photos.length, "photo")} of ${countInWords(plantings.size, "planting")}.`),
    element("div", { class: "strip" }, photos.slice(0, 8).map((photo) => link(`#/photos/${photo.id}`, {}, thumbnail(photo, altFor(store, photo))))),
  );
}

const altFor = (store, photo) => `Photo of ${describePlanting(store, photo.fields.planting_id)?.name ?? "a planting"}`;

/** Plantings still standing whose last photo lies long before the latest one of the journal. */
function notSeen(store) {
  const photos = photosByPlanting(store);
  const latest = [...photos.values()].map((list) => list.at(-1).fields.taken_at ?? "").sort().at(-1);
  if (!latest) return null;
  const rows = plantingsInWalkOrder(store)
    .filter((planting) => !planting.fields.removed_on)
    .map((planting) => ({ planting, last: photos.get(planting.id)?.at(-1)?.fields.taken_at ?? null }))
    .filter(({ last }) => !last || daysBetween(last, latest) >= LONG_DAYS);
  if (!rows.length) return null;
  return element(
    "section",
    {},
    element("h2", {}, "Not photographed for long"),
    element("ul", { class: "rows" }, rows.map(({ planting, last }) => unseenRow(store, planting, last))),
  );
}

function unseenRow(store, planting, last) {
  const words = last ? `last on ${shortDayInWords(last)}` : "never";
  return element("li", {}, plantingLink(describePlanting(store, planting.id)), " ", element("span", { class: "quiet" }, words));
}

async function sayLastBackup(server, place) {
  try {
    const home = await server.getJson("/api/home");
    place.textContent = home.last_backup
      ? `Last backup on ${dayInWords(home.last_backup)}.`
      : "Never backed up. On the computer that keeps the journal, run “journal-server backup FILE” and keep the file somewhere else.";
  } catch {
    place.textContent = "When the last backup was made cannot be asked now.";
  }
}
