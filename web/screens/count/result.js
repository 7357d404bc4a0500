/** What a count says, beside what the method says: number by number, and point by point. */

import { button, element, link, live, redraw, svgElement } from "../dom.js";
import { CLASSES, UNANSWERED } from "../../point_count/counting.js";
import { sharesOf } from "../../point_count/shares.js";
import { endedCounts } from "../../store/point_counts.js";
import { currentMeasurements } from "../../store/queries.js";
import { pictureAddress } from "../../store/waiting_pictures.js";
import { ServerRefused } from "../../sync/server.js";
import { capital, countInWords, dayInWords, shareInWords } from "../../words.js";
import { copyable } from "../copy/copyable.js";
import { asOf } from "../figure.js";
import { problemNote } from "../problem.js";
import { deleteWithUndo } from "../undo.js";
import { confusionTable } from "./confusion.js";

export const resultAddress = (photoId) => `/api/review/point-counts?photo=${photoId}`;

/** Asked anew when a count has arrived at the journal, or when the class map, which it may still be making, is there. */
export function resultPart(context, photo, known, gone) {
  const { store } = context.journal;
  const stamp = () => {
    const counts = endedCounts(store, photo.id).map(({ id, seq }) => `${id} ${seq}`);
    return [store.get("photo", photo.id)?.fields.measuring, ...counts].join();
  };
  return live(store, stamp, () => answer(context, photo, known, gone));
}

/** @param {() => void} gone hears that the counts of this photo were deleted */
function answer(context, photo, known, gone) {
  const place = element("div", { class: "stack" }, element("p", { class: "quiet" }, "Reading …"));
  const show = (...told) => redraw(place, told, ways(context, photo, known, gone));
  const fill = async () => {
    try {
      const { answer: found, keptSince } = await context.journal.server.getDated(resultAddress(photo.id));
      if (!isAllSent(context.journal.store, photo)) return show(ownResult(context, photo, fill));
      show(asOf(keptSince), whole(photo, found));
    } catch (problem) {
      const isNotThereYet = !(problem instanceof ServerRefused) || problem.status === 404;
      show(isNotThereYet ? ownResult(context, photo, fill) : problemNote(problem, fill));
    }
  };
  fill();
  return place;
}

const isAllSent = (store, photo) =>
  endedCounts(store, photo.id).every(({ id }) => store.lastSaid("point_count", id)?.fields.ended);

function whole(photo, found) {
  return [
    element(
      "section",
      {},
      element("p", {}, counted(found.answered, found.tally.unanswered, found.counts)),
      found.reason && element("p", { class: "finding" }, `Not held against the method: ${found.reason}.`),
      sharesTable(found.rows),
      element("p", { class: "quiet" }, intervalWords(found.method)),
    ),
    element(
      "section",
      {},
      element("h2", {}, "Point by point"),
      element("p", {}, kappaWords(found)),
      found.confusion && confusionTable(found.confusion),
      found.points.length > 0 && differingPoints(photo, found.points),
    ),
  ];
}

function counted(answered, unanswered, counts) {
  const who = [...new Set(counts.map((one) => one.counted_by).filter(Boolean))];
  const days = [...new Set(counts.map((one) => dayInWords(one.counted_on)))];
  const several = counts.length > 1 ? ` in ${counts.length} counts` : "";
  const leftOut = unanswered ? `; ${unanswered} could not be told and are left out` : "";
  return `${countInWords(answered, "point")}${several}${who.length ? ` by ${who.join(", ")}` : ""} on ${days.join(", ")}${leftOut}.`;
}

const intervalWords = (method) =>
  `Small figures are 90 % intervals${method ? `; the method is ${method}` : ""}. A difference is within error where its interval holds 0.`;

function sharesTable(rows) {
  const heads = ["Number", "By eye", "Method", "Method less eye"].map((name) => element("th", { scope: "col" }, name));
  const cell = (words, title, quote) => {
    if (!words) return element("td", { class: "quiet" }, "–");
    const [value, interval] = words.replaceAll(" ", "\u00a0").split("\u00a0(");
    return element("td", {}, copyable(element("b", { class: "unbroken" }, value), title, quote), interval && element("span", { class: "interval" }, interval.replace(")", "")));
  };
  const last = (row) =>
    row.difference_words
      ? cellWithVerdict(cell(row.difference_words, `${capital(row.words)}, method less eye`, row.quotes?.difference), row.verdict)
      : element("td", { class: "quiet" }, row.reason ? `${capital(row.reason)}.` : "–");
  const body = rows.map((row) =>
    element(
      "tr",
      {},
      element("th", { scope: "row" }, capital(row.words)),
      cell(row.counted_words, `${capital(row.words)} by eye`, row.quotes?.counted),
      cell(row.measured_words, `${capital(row.words)} by the method`, row.quotes?.measured),
      last(row),
    ),
  );
  return element(
    "div",
    { class: "beside-each-other" },
    element(
      "table",
      { class: "differences" },
      element("caption", { class: "unseen" }, "The count and the method, with 90 % intervals"),
      element("thead", {}, element("tr", {}, heads)),
      element("tbody", {}, body),
    ),
  );
}

function cellWithVerdict(cell, verdict) {
  cell.append(element("span", { class: verdict.startsWith("beyond") ? "verdict more" : "verdict" }, verdict));
  return cell;
}

function kappaWords({ kappa, kappa_reason: reason }) {
  if (!kappa) return `Cohen’s kappa is not known: ${reason}.`;
  const alike = `The method and your eye say the same at ${Math.round(kappa.alike * 100)} % of the points. Cohen’s kappa is `;
  return [alike, copyable(kappa.words, "Cohen’s kappa", kappa.quote), ": 1 is full agreement, 0 what chance would give."];
}

/** Where the two differ, on the photo; a tap or the pointer says how. */
function differingPoints(photo, points) {
  const { width, height } = photo.fields;
  const wordOf = (letter) => CLASSES.find((one) => one.letter === letter)?.name;
  const differing = points.filter(({ said, seen }) => said !== UNANSWERED && wordOf(said) !== seen);
  if (!differing.length) return element("p", { class: "quiet" }, "They differ at no point.");
  const radius = Math.max(width, height) / 90;
  const marks = differing.map(({ x, y, said, seen }) =>
    svgElement(
      "g",
      {},
      svgElement("title", {}, `You: ${wordOf(said)}; method: ${seen}`),
      svgElement("circle", { class: "under", cx: x, cy: y, r: radius }),
      svgElement("circle", { class: "over", cx: x, cy: y, r: radius }),
    ),
  );
  const outline = svgElement("svg", { class: "outline told", viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" }, marks);
  const image = element("img", { src: pictureAddress(photo.id, "screen"), alt: `The photo with the ${countInWords(differing.length, "point")} at which the two differ`, width, height });
  const stage = element("div", { class: "stage" }, image, outline);
  stage.style.setProperty("--shape", `${width} / ${height}`);
  return element("figure", { class: "picture differing" }, stage, element("figcaption", { class: "quiet" }, `Where the two differ: ${countInWords(differing.length, "point")}.`));
}

/** Without the journal: one's own estimate, and what this device holds of the method's. */
function ownResult({ journal }, photo, again) {
  const counts = endedCounts(journal.store, photo.id).map(({ fields }) => fields);
  const answers = counts.map((fields) => fields.answers).join("");
  const numbers = currentMeasurements(journal.store).get(photo.id)?.fields.numbers;
  const both = (number) => {
    const words = shareInWords(number);
    return words && `${words.value} (${words.interval})`;
  };
  const rows = sharesOf(answers).map(({ name, words, counted: own, reason }) => ({
    words,
    counted_words: both(own),
    measured_words: numbers?.by_hand ? null : both(numbers?.[name]),
    reason,
  }));
  const unanswered = [...answers].filter((letter) => letter === UNANSWERED).length;
  return element(
    "section",
    {},
    element("p", {}, counted(answers.length - unanswered, unanswered, counts)),
    sharesTable(rows),
    element("p", { class: "finding" }, "Whether the two differ by more than error, and point by point, is told when the journal can be reached. Your count is kept."),
    button("Ask again", again, { id: "ask-again" }),
  );
}

function ways(context, photo, known, gone) {
  const counts = endedCounts(context.journal.store, photo.id);
  const remove = async () => {
    await deleteWithUndo(context, counts.map(({ id }) => ({ kind: "point_count", id })), counts.length > 1 ? "Counts deleted." : "Count deleted.");
    gone();
  };
  return element(
    "section",
    {},
    element("p", { class: "quiet" }, "Since the method’s answer has been seen, this count stays as it is. Counting again lays other points; all points of a photo are taken together."),
    element(
      "div",
      { class: "ways" },
      link(`#/review/how-sure/${known.planting.fields.trial_id}`, { class: "secondary strong", id: "to-how-sure" }, "How sure, over all photos"),
      link(`#/photos/${photo.id}/count?again=yes`, { class: "secondary", id: "count-again" }, "Count other points too"),
      link(`#/photos/${photo.id}`, { class: "secondary" }, "To the photo"),
      button(counts.length > 1 ? "Delete these counts" : "Delete this count", remove, { id: "delete-count" }),
    ),
  );
}
