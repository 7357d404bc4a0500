/** One visit: the picture, what is seen, what is done, and on to the next. Its parts are in the files beside this one. */

import { element, link, live } from "../dom.js";
import { cultivarName, doubtMark } from "../names.js";
import { currentMeasurements, describePlanting, photosByPlanting } from "../../store/queries.js";
import { belongsHere, daysSincePhoto, findingsOfLastVisit } from "../../store/walk.js";
import { Recorder } from "../../capture/recorder.js";
import { bottomBar } from "./bottom_bar.js";
import { carePart } from "./care.js";
import { correctionsPart } from "./corrections.js";
import { findingsPart } from "./findings.js";
import { photoPart } from "./photo_part.js";
import { ratingsPart } from "./ratings.js";
import { spokenRemark, writtenRemark } from "./remark.js";
import { Told } from "./told.js";
import { Visit } from "./visit.js";
import { clockInWords, findingsInWords, placeInWords, whereItStands } from "./words.js";

const HEADING_KINDS = ["planting", "planter", "cultivar", "visit", "finding", "photo"];

export function visitScreen(context, { planting: id }) {
  const { journal } = context;
  const planting = journal.store.get("planting", id);
  if (!planting) return goneScreen();
  const visit = new Visit(journal, planting);
  const told = new Told(context.notices);
  const parts = { context, journal, visit, told };
  const photos = photoPart(parts, lastLook(journal.store, visit), (there) => context.go(`#/walk/${there}`));
  const written = writtenRemark(parts);
  const spoken = spokenRemark(parts, Recorder);
  const leave = () => {
    written.leave();
    spoken.leave();
    photos.leave();
  };
  return {
    title: `Walk: ${placeInWords(journal.store, planting)}`,
    leave,
    nodes: [
      element(
        "div",
        { class: "visit" },
        element("div", { class: "visit-look" }, live(journal.store, HEADING_KINDS, () => heading(parts)), photos.node),
        element(
          "div",
          { class: "visit-notes" },
          section("What do you see?", findingsPart(parts)),
          section("Ratings, 5 is best", ratingsPart(parts)),
          section("Remark", spoken.node, written.node),
          section("Care", carePart(parts)),
          correctionsPart(parts, photos.scanner),
        ),
      ),
      bottomBar(parts, photos),
    ],
  };
}

const section = (title, ...nodes) => element("section", {}, element("h2", {}, title), ...nodes);

function goneScreen() {
  return {
    title: "Not here",
    nodes: [
      element("h1", {}, "This planting is not in the journal any more"),
      element("p", {}, "Photos and remarks already taken of it are kept."),
      element("p", {}, link("#/walk", { class: "primary" }, "Back to the walk")),
    ],
  };
}

/** The last photo before this visit (or, the first time, the latest one) with its frame and its card. */
function lastLook(store, visit) {
  const taken = (photosByPlanting(store).get(visit.plantingId) ?? []).filter(belongsHere);
  const photo = taken.filter(({ fields }) => fields.visit_id !== visit.id).at(-1) ?? taken.at(-1) ?? null;
  if (!photo) return { photo: null, polygon: null };
  const drawn = store
    .all("frame")
    .find(({ fields }) => fields.photo_id === photo.id && fields.planting_id === visit.plantingId);
  const carried = currentMeasurements(store).get(photo.id)?.fields.frame_polygon;
  return { photo, polygon: drawn?.fields.polygon ?? carried ?? null };
}

function heading({ journal, visit }) {
  const known = describePlanting(journal.store, visit.plantingId);
  if (!known)
    return element(
      "div",
      { class: "problem", role: "alert" },
      element("h1", {}, "This planting was deleted elsewhere"),
      element("p", {}, "Photos and remarks that you took of it are kept. Go on with the next one."),
    );
  const { store } = journal;
  const last = (photosByPlanting(store).get(visit.plantingId) ?? []).filter(belongsHere).at(-1);
  const entry = { planting: known.planting, daysSincePhoto: daysSincePhoto(last, visit.day) };
  const own = (kind) => store.all(kind).filter(({ fields }) => fields.planting_id === visit.plantingId);
  const before = findingsOfLastVisit(own("visit"), own("finding"), visit.day);
  return element(
    "header",
    {},
    element("h1", {}, placeInWords(store, known.planting)),
    element("p", {}, cultivarName(known.cultivar), doubtMark(known.planting)),
    element("p", { class: "quiet" }, whereItStands(entry, visit.day)),
    before.length ? element("p", {}, `Last time: ${findingsInWords(before)}`) : null,
    clockWarning(journal),
  );
}

function clockWarning(journal) {
  const words = clockInWords(journal.queue.state.clockOffSeconds);
  return words ? element("p", { class: "warning-line" }, words) : null;
}
