/** All that was ever measured of one photo: nothing is overwritten, and the one that counts is named. */

import { element } from "./dom.js";
import { handInWords } from "./correct/way_in.js";
import { measurementsOf } from "../store/corrections.js";
import { countInWords, localIso, momentInWords, shareInWords } from "../words.js";

const SHOWN = [
  ["canopy_fill", "Canopy fill"],
  ["bloom_cover", "Bloom cover"],
  ["spent_share", "Spent bloom"],
];

const FRAME_WORDS = { "drawn on this photo": "frame drawn on this photo" };

/** @param {Object} photo record @param {Object | null} current the measurement that counts */
export function photoHistory(store, photo, current) {
  const all = measurementsOf(store, photo.id);
  if (!all.length) return null;
  return element(
    "details",
    { id: "photo-history" },
    element("summary", {}, `Measured ${all.length === 1 ? "once" : countInWords(all.length, "time")}`),
    element(
      "ol",
      { class: "rows measured-list", reversed: true },
      all.map((one) => row(one, current)),
    ),
  );
}

function row({ id, fields }, current) {
  const { numbers } = fields;
  return element(
    "li",
    { "aria-current": id === current?.id ? "true" : null },
    element(
      "p",
      {},
      element("b", {}, numbers.by_hand ? "By hand" : "By the method"),
      id === current?.id && element("span", { class: "now" }, "counts now"),
    ),
    element("p", {}, SHOWN.map(([name, words]) => numberInWords(numbers[name], words)).join("; "), "."),
    numbers.by_hand && element("p", { class: "quiet" }, handInWords(numbers.by_hand)),
    element("p", { class: "quiet" }, provenanceInWords(fields)),
  );
}

function numberInWords(number, words) {
  const said = shareInWords(number);
  return said ? `${words} ${said.value} (${said.interval})` : `${words} not had`;
}

function provenanceInWords({ numbers, method, frame_how: frameHow, measured_at: at }) {
  const frame = frameHow ? (FRAME_WORDS[frameHow] ?? "frame carried from another photo") : "no frame";
  return `Measured ${momentInWords(localIso(at))}; method ${numbers.method ?? method}; ${frame}.`;
}
