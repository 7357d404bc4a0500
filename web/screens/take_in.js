/** Taking photos in: how far it is, what became of each file, what wants doing next. */

import { button, element, link, redraw } from "./dom.js";
import { countInWords } from "../words.js";
import { unsettledPhotos } from "../store/queries.js";
import { pickFiles } from "./pick_files.js";

const STATE_WORDS = {
  waiting: "waiting",
  sending: "sending",
  "taken in": "taken in",
  "already here": "already here",
  refused: "refused",
  failed: "not sent",
  cancelled: "cancelled",
};

export function takeInScreen(context) {
  const { uploads, journal } = context;
  const place = element("div", { class: "stack" });
  const spoken = element("p", { class: "unseen", role: "status", "aria-live": "polite" });
  let lastSaid = "";
  let wasBusy = uploads.busy;
  const draw = () => {
    redraw(
      place,
      uploads.entries.length
        ? [progress(uploads), summary(uploads, journal.store), files(uploads)]
        : invitation(),
    );
    const says = uploads.busy
      ? `${Math.floor(uploads.share * 4) * 25} per cent sent`
      : countsInWords(uploads);
    if (says !== lastSaid) spoken.textContent = lastSaid = says;
    if (wasBusy && !uploads.busy) journal.pull().then(draw, () => {});
    wasBusy = uploads.busy;
  };
  const stop = uploads.watch(oncePerFrame(draw));
  draw();
  return {
    title: "Take photos in",
    nodes: [
      element("h1", {}, "Take photos in"),
      place,
      spoken,
      element("div", { class: "action-bar" }, pickFiles(context, "Choose photos")),
    ],
    leave: stop,
  };
}

function oncePerFrame(draw) {
  let planned = false;
  return () => {
    if (planned) return;
    planned = true;
    requestAnimationFrame(() => {
      planned = false;
      draw();
    });
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

function progress(uploads) {
  if (!uploads.busy) return null;
  const over = uploads.entries.filter(
    (entry) => entry.state !== "waiting" && entry.state !== "sending",
  ).length;
  return element(
    "section",
    {},
    element("progress", { value: uploads.share, max: 1, "aria-label": "All photos" }),
    element("p", {}, `${over} of ${countInWords(uploads.entries.length, "file")}`),
    button("Cancel the rest", () => uploads.cancel(), { id: "cancel-uploads" }),
  );
}

function countsInWords(uploads) {
  const parts = Object.keys(STATE_WORDS)
    .map((state) => [uploads.count(state), STATE_WORDS[state]])
    .filter(([count]) => count);
  return parts.map(([count, words]) => `${count} ${words}`).join(", ");
}

function summary(uploads, store) {
  if (uploads.busy) return null;
  const again = uploads.count("failed") + uploads.count("cancelled");
  const unsettled = unsettledPhotos(store).length;
  return element(
    "section",
    {},
    element("p", { class: "lead", id: "upload-summary" }, `${countsInWords(uploads)}.`),
    again
      ? button(`Send again what was not sent (${again})`, () => uploads.retryFailed(), {
          id: "retry-uploads",
        })
      : null,
    unsettled
      ? link("#/photos/unsettled", { class: "secondary" }, `Settle ${countInWords(unsettled, "photo")}`)
      : uploads.count("taken in") > 0 && link("#/plantings", { class: "secondary" }, "See the plantings"),
  );
}

/** Those that need a person's eye first; the rest in the order they were chosen. */
function files(uploads) {
  const first = (entry) =>
    ["refused", "failed"].includes(entry.state) ? 0 : entry.state === "sending" ? 1 : 2;
  const sorted = [...uploads.entries].sort((a, b) => first(a) - first(b));
  return element("ul", { class: "files" }, sorted.map(fileRow));
}

function fileRow(entry) {
  const name = entry.photo ? link(`#/photos/${entry.photo.id}`, {}, entry.file.name) : entry.file.name;
  const words = element(
    "span",
    { class: entry.state === "refused" || entry.state === "failed" ? "signal" : "quiet" },
    STATE_WORDS[entry.state],
  );
  const wanted = ["refused", "failed"].includes(entry.state) || entry.state === "taken in";
  return element(
    "li",
    {},
    element("span", { class: "file-name" }, name),
    words,
    entry.state === "sending" &&
      element("progress", { value: entry.share, max: 1, "aria-label": entry.file.name }),
    wanted && entry.says && element("span", { class: "says" }, entry.says),
  );
}
