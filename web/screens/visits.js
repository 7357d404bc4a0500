/** The visits to one planting by date: what was found, how it was rated, what was written and said. */

import { element, link } from "./dom.js";
import { RATED, visitsOfPlanting } from "../store/walk.js";
import { capital, countInWords, dayInWords } from "../words.js";
import { playButton } from "./walk/remark.js";
import { findingsInWords, ratingsInWords } from "./walk/words.js";

const AT_ONCE = 6;

export function visitsPart(journal, plantingId) {
  const visits = visitsOfPlanting(journal.store, plantingId);
  if (!visits.length)
    return element("p", {}, "No visit yet. ", link("#/walk", {}, "Walk"), " to note what is seen.");
  const rows = visits.map((visit) => visitRow(journal, visit));
  const older = rows.slice(AT_ONCE);
  return [
    element("ul", { class: "rows visits" }, rows.slice(0, AT_ONCE)),
    older.length
      ? element(
          "details",
          { id: "older-visits" },
          element("summary", {}, `${countInWords(older.length, "older visit")}`),
          element("ul", { class: "rows visits" }, older),
        )
      : null,
  ];
}

function visitRow(journal, { visit, findings, ratings, recordings, photos }) {
  const facts = [
    photos.length && countInWords(photos.length, "photo"),
    findings.length && capital(findingsInWords(findings)),
  ];
  const isOnlyLooked = !ratings.length && !recordings.length && !visit.fields.remark;
  return element(
    "li",
    { class: "visit-row" },
    element("h3", {}, dayInWords(visit.fields.visited_on)),
    element("p", {}, facts.filter(Boolean).join(" · ") || (isOnlyLooked ? "Seen; nothing to note." : "No photo, no finding.")),
    ratings.map((rating) => ratingLine(rating)),
    visit.fields.remark ? element("p", { class: "remark" }, visit.fields.remark) : null,
    element(
      "div",
      { class: "ways" },
      recordings.map((recording) => playButton(journal, recording, "spoken remark")),
    ),
  );
}

function ratingLine(rating) {
  const said = ratingsInWords(rating, RATED);
  if (!said.length) return null;
  const by = rating.fields.rater ? ` (by ${rating.fields.rater})` : "";
  return element("p", {}, `Rated, 5 is best: ${said.join(", ")}${by}`);
}
