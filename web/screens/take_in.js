/** Taking photos in: how far it is, what became of each file, what wants doing next. */

import { button, element, link, redraw } from "./dom.js";
import { countInWords } from "../words.js";
import { describePlanting, unsettledPhotos } from "../store/queries.js";
import { STATE_WORDS, fileList } from "./file_list.js";
import { pickFiles, pickFolder } from "./pick_files.js";

const PAUSE_MS = 150;

export function takeInScreen(context) {
  const { uploads, journal } = context;
  const bar = progressPart(uploads);
  const after = element("div", {});
  const files = fileList();
  const spoken = element("p", { class: "unseen", role: "status", "aria-live": "polite" });
  let saidLast = null;
  const update = () => {
    bar.update();
    files.update(uploads.entries);
    const says = uploads.busy
      ? `${Math.floor(uploads.share * 4) * 25} per cent sent`
      : countsInWords(uploads);
    if (says === saidLast) return;
    spoken.textContent = saidLast = says;
    redraw(
      after,
      uploads.busy ? null : uploads.entries.length ? summary(uploads, journal.store) : invitation(),
    );
    if (uploads.count("taken in") && !uploads.busy) journal.pull().catch(() => {});
  };
  const stop = uploads.watch(atMostOften(update, PAUSE_MS));
  update();
  return {
    title: "Take photos in",
    nodes: [
      element("h1", {}, "Take photos in"),
      bar.node,
      after,
      files.node,
      spoken,
      element(
        "div",
        { class: "action-bar" },
        pickFiles(context, "Choose photos"),
        pickFolder(context, "A folder"),
      ),
    ],
    leave: stop,
  };
}

function atMostOften(act, pauseMs) {
  let planned = false;
  return () => {
    if (planned) return;
    planned = true;
    setTimeout(() => {
      planned = false;
      act();
    }, pauseMs);
  };
}

function invitation() {
  return [
    element(
      "p",
      { class: "lead" },
      "Choose photos, or drop them anywhere on this page; whole folders too, hundreds at once.",
    ),
    element(
      "p",
      { class: "quiet" },
      "JPEG, HEIC, PNG, WebP and TIFF, up to 60 MB each. The originals are kept untouched; the same photo twice is taken once.",
    ),
  ];
}

function progressPart(uploads) {
  const bar = element("progress", { max: 1, "aria-label": "All photos" });
  const words = element("p", {});
  const cancel = button("Cancel the rest", () => uploads.cancel(), { id: "cancel-uploads" });
  const node = element("section", {}, bar, words, cancel);
  const update = () => {
    const over = uploads.entries.length - uploads.count("waiting") - uploads.count("sending");
    node.hidden = !uploads.busy;
    bar.value = uploads.share;
    words.textContent = `${over} of ${countInWords(uploads.entries.length, "file")}`;
  };
  return { node, update };
}

function countsInWords(uploads) {
  return Object.entries(STATE_WORDS)
    .map(([state, words]) => [uploads.count(state), words])
    .filter(([count]) => count)
    .map(([count, words]) => `${count} ${words}`)
    .join(", ");
}

function summary(uploads, store) {
  const again = uploads.count("failed") + uploads.count("cancelled");
  const unsettled = unsettledPhotos(store).length;
  return element(
    "section",
    {},
    element("p", { class: "lead", id: "upload-summary" }, `${countsInWords(uploads)}.`),
    whereTheyWent(uploads, store),
    again > 0 &&
      button(`Send again what was not sent (${again})`, () => uploads.retryFailed(), { id: "retry-uploads" }),
    unsettled
      ? link("#/photos/unsettled", { class: "secondary" }, `Settle ${countInWords(unsettled, "photo")}`)
      : uploads.count("taken in") > 0 && link("#/plantings", { class: "secondary" }, "See the plantings"),
  );
}

/** How many of those just taken in show which planting; those that show none yet stand last. */
function whereTheyWent(uploads, store) {
  const counts = new Map();
  for (const { state, photo } of uploads.entries) {
    if (state !== "taken in") continue;
    const { planting_id: id } = (store.get("photo", photo.id) ?? photo).fields;
    counts.set(id, (counts.get(id) ?? 0) + 1);
  }
  const rows = [...counts].map(([id, count]) => ({ known: describePlanting(store, id), count }));
  return element(
    "ul",
    { class: "rows", id: "where-they-went", "aria-label": "Where the photos went" },
    rows
      .sort((a, b) => Boolean(b.known) - Boolean(a.known) || b.count - a.count)
      .map(({ known, count }) => element("li", {}, `${countInWords(count, "photo")}: `, placeOf(known))),
  );
}

function placeOf(known) {
  if (!known) return "no planting yet";
  const where = [known.name, known.planter?.fields.name, known.season].filter(Boolean).join(", ");
  return link(`#/plantings/${known.planting.id}`, {}, where);
}
