/** How far the method can be trusted on this trial's photos: what point counts say, and which photo to count next. */

import { element, link, redraw } from "../dom.js";
import { AGREEMENT, PHOTOS_FOR_A_PLOT, agreementQuery, howSureAddress } from "../../store/point_counts.js";
import { describePlanting } from "../../store/queries.js";
import { capital, countInWords, shortDayInWords, trialInWords, unbroken } from "../../words.js";
import { confusionTable } from "../count/confusion.js";
import { copyable } from "../copy/copyable.js";
import { asOf, figure } from "../figure.js";
import { cultivarName } from "../names.js";
import { thumbnail } from "../picture.js";
import { problemNote } from "../problem.js";
import { noTrialScreen } from "../no_trial.js";

/** So many photos tell the limits of agreement; their intervals go on narrowing with more. */
const PHOTOS_THAT_TELL = 12;

export function howSureScreen(context, { trial: trialId }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  const place = element("div", { class: "stack how-sure" }, element("p", { class: "quiet" }, "Reading …"));
  const fill = async () => {
    try {
      const { answer, keptSince } = await context.journal.server.getDated(howSureAddress(trialId));
      redraw(place, asOf(keptSince), parts(context, trialId, answer));
    } catch (problem) {
      redraw(place, problemNote(problem, fill));
    }
  };
  fill();
  return {
    title: "How sure",
    wide: true,
    nodes: [
      element("header", {}, element("h1", {}, "How sure"), element("p", { class: "quiet" }, trialInWords(trial))),
      place,
    ],
  };
}

function parts(context, trialId, found) {
  return [
    lead(found),
    toCount(context.journal.store, found),
    found.photos > 0 && shares(context.journal.server, trialId, found),
    found.photos > 0 && pointByPoint(found),
    found.photos > 0 && audited(context.journal.store, found),
    leftOut(context.journal.store, found),
    reading(),
  ];
}

function lead({ sentences, photos, counted_by: by }) {
  const who = by.length ? ` Counted by ${by.join(", ")}.` : "";
  const few = photos > 0 && photos < PHOTOS_THAT_TELL ? ` About ${PHOTOS_THAT_TELL} photos tell it well.` : "";
  return element(
    "section",
    {},
    element("p", { class: "lead" }, unbroken(sentences[0]) + who + few),
    photos === 0 &&
      element("p", {}, "On a photo, say of 50 to 200 random points what lies under each. That estimate owes nothing to the method, so the two can be held against each other."),
  );
}

function toCount(store, { next, begun, countable }) {
  const going = begun.map((one) => item(store, one.photo_id, `Go on: ${one.answered} of ${one.points} points`));
  const fresh = next.map((one) => item(store, one.photo_id, "Count points"));
  const rows = [...going, ...fresh].filter(Boolean);
  return element(
    "section",
    {},
    element("h2", {}, "Good to count next"),
    rows.length
      ? [
          element("p", { class: "quiet" }, "Drawn so that they spread over fill, bloom, dates and cultivars: then what is found holds for all of them."),
          element("ul", { class: "to-count" }, rows),
        ]
      : element("p", { class: "quiet" }, countable ? "Every measured photo has been counted." : "No photo of this trial has been measured yet; take some in first."),
  );
}

function item(store, photoId, words) {
  const photo = store.get("photo", photoId);
  const known = describePlanting(store, photo?.fields.planting_id);
  if (!known) return null;
  return element(
    "li",
    {},
    link(
      `#/photos/${photoId}/count`,
      { class: "count-this" },
      thumbnail(photo),
      element("span", {}, cultivarName(known.cultivar)),
      element("span", { class: "quiet" }, `${known.planter?.fields.name ?? "no planter"}, ${shortDayInWords(photo.fields.taken_at)}`),
      element("span", { class: "do" }, words),
    ),
  );
}

function shares(server, trialId, found) {
  const plots = found.shares.map(({ name, words, photos, sentences }) =>
    photos < PHOTOS_FOR_A_PLOT
      ? element("p", {}, unbroken(sentences.join(" ")))
      : figure(server, {
          ...AGREEMENT,
          query: agreementQuery(trialId, name),
          title: `${capital(words)}: method against eye`,
          id: `agreement-${name}`,
        }),
  );
  return element("section", {}, element("h2", {}, "Number by number"), element("div", { class: "curves" }, plots));
}

function pointByPoint({ kappa, kappa_reason: reason, confusion, sentences }) {
  const [value, interval] = kappa?.words.split(" (") ?? [];
  return element(
    "section",
    {},
    element("h2", {}, "Point by point"),
    kappa && element("p", {}, copyable(value, "Cohen’s kappa", kappa.quote, { class: "big" }), " ", element("span", { class: "interval" }, `kappa, 90 % interval ${interval.replace(")", "")}`)),
    element("p", {}, kappa ? unbroken(sentences.at(-1)) : `Cohen’s kappa is not known: ${reason}.`),
    confusion && confusionTable(confusion),
  );
}

function audited(store, { audited: photos, shares: all }) {
  const told = all.filter(({ photos: count }) => count).map(({ words, photos: count, within_error: within }) => `${words} ${within} of ${count}`);
  return element(
    "section",
    {},
    element("h2", {}, "Photos that were counted"),
    told.length > 0 && element("p", { class: "quiet" }, `Within error: ${told.join(", ")}. About nine in ten is what right intervals give.`),
    element("ul", { class: "rows" }, photos.map((one) => auditedRow(store, one)).filter(Boolean)),
  );
}

function auditedRow(store, { photo_id: photoId, planting_id: plantingId, taken_at: takenAt, answered, rows }) {
  const known = describePlanting(store, plantingId);
  if (!known) return null;
  const differences = rows.filter((row) => row.difference_words).map((row) => `${row.words} ${row.difference_words.split(" (")[0]}`);
  const beyond = rows.filter((row) => row.verdict?.startsWith("beyond")).map((row) => row.words);
  return element(
    "li",
    {},
    link(
      `#/photos/${photoId}/count`,
      { class: "row" },
      element("span", {}, cultivarName(known.cultivar), `, ${known.planter?.fields.name ?? "no planter"}, ${shortDayInWords(takenAt)}`),
      element(
        "span",
        { class: "quiet" },
        [countInWords(answered, "point"), ...differences].join(" · "),
        beyond.length > 0 && [" · ", element("b", {}, `beyond error: ${beyond.join(", ")}`)],
      ),
    ),
  );
}

function leftOut(store, { left_out: photos }) {
  if (!photos.length) return null;
  const row = ({ photo_id: photoId, reason }) => {
    const known = describePlanting(store, store.get("photo", photoId)?.fields.planting_id);
    return element("li", {}, link(`#/photos/${photoId}/count`, { class: "row" }, element("span", {}, known ? cultivarName(known.cultivar) : "A photo"), element("span", { class: "quiet" }, `${capital(reason)}.`)));
  };
  return element("section", {}, element("h2", {}, "Counted, but not held against the method"), element("ul", { class: "rows" }, photos.map(row)));
}

function reading() {
  return element(
    "details",
    { id: "how-to-read" },
    element("summary", {}, "How this is reckoned"),
    element(
      "div",
      { class: "reading" },
      element("p", {}, "The bias is the mean of method less eye over the photos; 95 % of the differences lie between the limits of agreement (Bland and Altman 1986). Bands are their 90 % intervals."),
      element("p", {}, "A count of points has an error of its own, which is known: it is binomial. So it can be said how much of the spread counting alone would make. The palest band is what is left for the method."),
      element("p", {}, "The intervals of limits and spread suppose that the differences are about normal; a few photos far off make them too narrow."),
      element("p", {}, "Points of one photo share its light and its plants, so from five photos on the interval of kappa (Cohen 1960) rests on how much it varies from photo to photo."),
      element("p", {}, "All of this holds for photos like those that were counted, judged by whoever counted them."),
    ),
  );
}
