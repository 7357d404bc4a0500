/** One photo: the picture, its numbers, how it was matched and dated, and ways to correct both. */

import { button, element, link, live, redraw } from "./dom.js";
import { currentMeasurements, describePlanting, photosByPlanting } from "../store/queries.js";
import { begunCount, endedCounts } from "../store/point_counts.js";
import { countInWords, cultivarInWords, dayInWords, momentInWords, weekInWords } from "../words.js";
import { plantingLink } from "./names.js";
import { laggingFinding, leadingNumbers, measuringState, numbersTable, warningsList } from "./numbers.js";
import { picture } from "./picture.js";
import { copyTable } from "./copy/copyable.js";
import { photoQuotes } from "./copy/photo_quotes.js";
import { choosePlanting } from "./choose_planting.js";
import { matchPhoto, setAside, takeBack } from "./settle.js";
import { compareAddress } from "./compare/ways_in.js";
import { momentForm } from "./moment_form.js";
import { handTold, handWays } from "./correct/way_in.js";
import { photoHistory } from "./photo_history.js";
import { photoNotHere } from "./not_here.js";

const KINDS = ["photo", "measurement", "correction", "point_count", "planting", "planter", "cultivar"];

const SOURCE_WORDS = {
  exif: "the camera's own record",
  gps: "the satellite time in the photo",
  "file name": "the file name",
  "file time": "the time of the file",
  phone: "the clock of the phone that took it",
  person: "a person said so",
};

const MATCH_WORDS = {
  matched: "Matched by its card",
  suggested: "Not settled; there is a suggestion",
  question: "Not settled",
  "set by hand": "Set by hand",
  "set aside": "Set aside: not part of the trial",
};

const FRAME_WORDS = {
  "drawn on this photo": "drawn on this photo by hand",
  "card and features": "carried from another photo by the card and by what both photos show",
  features: "carried from another photo by what both show",
  card: "carried from another photo by the card",
  "few features": "carried from another photo by the little that both show",
  scaled: "left where it was drawn on another photo, fitted to the size of this one",
};

export function photoScreen(context, { id }) {
  const { store } = context.journal;
  const photo = store.get("photo", id);
  if (!photo) return photoNotHere();
  const known = describePlanting(store, photo.fields.planting_id);
  return {
    title: known ? `Photo of ${known.name}` : "Photo",
    wide: true,
    nodes: [
      live(store, KINDS, () => parts(context, store.get("photo", id) ?? photo), { class: "photo-page" }),
    ],
  };
}

function parts(context, photo) {
  const { store } = context.journal;
  const known = describePlanting(store, photo.fields.planting_id);
  const measurement = currentMeasurements(store).get(photo.id) ?? null;
  const alt = known
    ? `${cultivarInWords(known.cultivar)} in ${known.planter?.fields.name ?? "its planter"}`
    : `Photo ${photo.fields.file_name}`;
  return [
    element("div", { class: "look" }, picture(photo, measurement, alt, titled(alt, photo)), neighbours(store, photo)),
    element(
      "div",
      { class: "read stack" },
      heading(photo, known),
      measured(context, photo, measurement),
      matching(context, photo, known),
      dating(context, photo),
      file(photo),
    ),
  ];
}

const titled = (words, photo) => [words, photo.fields.taken_at && dayInWords(photo.fields.taken_at)].filter(Boolean).join(", ");

function heading(photo, known) {
  const week = known && weekInWords(known.planting.fields.planted_on, photo.fields.taken_at);
  return element(
    "header",
    {},
    element("h1", {}, known ? plantingLink(known) : "Photo not settled"),
    element(
      "p",
      { class: "quiet" },
      [momentInWords(photo.fields.taken_at), week].filter(Boolean).join(" · "),
    ),
  );
}

function neighbours(store, photo) {
  const siblings = photosByPlanting(store).get(photo.fields.planting_id) ?? [];
  const at = siblings.findIndex((one) => one.id === photo.id);
  if (siblings.length < 2) return null;
  const way = (other, words, id) =>
    other ? link(`#/photos/${other.id}`, { id }, words) : element("span", { class: "quiet" }, words);
  return element(
    "nav",
    { class: "neighbours", "aria-label": "Photos of this planting" },
    way(siblings[at - 1], "Earlier photo", "earlier"),
    element("span", { class: "quiet" }, `${at + 1} of ${siblings.length}`),
    way(siblings[at + 1], "Later photo", "later"),
  );
}

function measured(context, photo, measurement) {
  const state = measuringState(context, photo, measurement);
  if (!measurement) return element("section", {}, element("h2", {}, "Numbers"), state);
  const { numbers, frame_how: frameHow } = measurement.fields;
  const quotes = photoQuotes(context.journal.server, photo, measurement);
  return element(
    "section",
    {},
    element("h2", { class: "unseen" }, "Numbers"),
    state,
    leadingNumbers(measurement, quotes),
    handTold(context, photo, measurement),
    laggingFinding(measurement),
    warningsList(numbers),
    element(
      "details",
      { id: "all-numbers" },
      element("summary", {}, "Every number with its interval"),
      numbersTable(numbers, context.units.now, quotes),
      copyTable("The numbers of this photo", quotes.table, { id: "copy-numbers" }),
      provenance(numbers),
    ),
    photoHistory(context.journal.store, photo, measurement),
    element(
      "p",
      { class: "quiet" },
      frameHow ? `Frame: ${FRAME_WORDS[frameHow] ?? frameHow}.` : "No frame: the whole photo was measured.",
    ),
    photo.fields.planting_id &&
      link(
        `#/photos/${photo.id}/frame`,
        { class: "secondary", id: "draw-frame" },
        "Draw the frame on this photo",
      ),
    handWays(context, photo),
    photo.fields.planting_id &&
      link(`#/photos/${photo.id}/count`, { class: "secondary", id: "count-points" }, countWords(context.journal.store, photo)),
    photo.fields.planting_id &&
      link(compareAddress(photo), { class: "secondary", id: "compare-dates" }, "Compare with another date"),
  );
}

function countWords(store, photo) {
  if (begunCount(store, photo.id)) return "Go on counting points";
  return endedCounts(store, photo.id).length ? "Your point count" : "Count points on this photo";
}

function provenance(numbers) {
  const white = { card: "the white of the card", estimated: "estimated, since no card could be used" }[
    numbers.white_reference
  ];
  return element("p", { class: "quiet" }, `Method: ${numbers.method}. White: ${white ?? "not known"}.`);
}

function matching(context, photo, known) {
  const { store } = context.journal;
  const isAside = photo.fields.match === "set aside";
  const suggestedId = photo.fields.suggested_planting_id;
  const choose = async () => {
    const id = await choosePlanting(store, "Which planting is this?", photo.fields.choices ?? []);
    if (id) matchPhoto(context, photo, id);
  };
  return element(
    "section",
    {},
    element("h2", {}, "Planting"),
    element("p", {}, MATCH_WORDS[photo.fields.match] ?? photo.fields.match, "."),
    photo.fields.match_reason && element("p", { class: "quiet" }, photo.fields.match_reason),
    element(
      "div",
      { class: "ways" },
      !known &&
        suggestedId &&
        button(
          `Accept ${describePlanting(store, suggestedId)?.name ?? "the suggestion"}`,
          () => matchPhoto(context, photo, suggestedId),
          { id: "accept", class: "strong" },
        ),
      button(known ? "Change the planting" : "Choose a planting", choose, { id: "choose" }),
      isAside
        ? button("Take it back", () => takeBack(context, photo), { id: "take-back" })
        : button("Not part of the trial", () => setAside(context, photo), { id: "set-aside" }),
    ),
  );
}

function dating(context, photo) {
  const source = SOURCE_WORDS[photo.fields.taken_at_source] ?? "nothing in the photo says when it was taken";
  const place = element("div", {});
  const change = () =>
    redraw(
      place,
      momentForm(context, photo, () => redraw(place)),
    );
  return element(
    "section",
    {},
    element("h2", {}, "Moment"),
    element(
      "p",
      {},
      momentInWords(photo.fields.taken_at),
      photo.fields.taken_at_doubtful && [" ", element("span", { class: "mark" }, "Doubtful")],
    ),
    element("p", { class: "quiet" }, `Known from ${source}. `, photo.fields.moment_note),
    element("div", { class: "ways" }, button("Change the moment", change, { id: "change-moment" })),
    place,
  );
}

const codeInWords = (code, at) => [at > 0 && ", ", element("span", { class: "unbroken" }, code)];

function file(photo) {
  const { file_name: name, width, height, format, bytes, has_location: hasPlace } = photo.fields;
  const facts = [format, `${width} × ${height}`, `${(bytes / 1e6).toFixed(1)} MB`].filter(Boolean).join(", ");
  const warning = hasPlace
    ? "The original file also carries the place where it was taken."
    : "The original file carries no place.";
  const tags = photo.fields.tags ?? [];
  return element(
    "section",
    {},
    element("h2", {}, "File"),
    element("p", { class: "file-name" }, name),
    element(
      "p",
      { class: "quiet" },
      facts,
      tags.length ? [`. ${countInWords(tags.length, "card")} read: `, tags.map(codeInWords)] : ". No card read",
      ".",
    ),
    element("p", {}, link(`/api/photos/${photo.id}/original`, { download: name }, "Download the original")),
    element("p", { class: "quiet" }, warning),
  );
}
