/** The walk in words. Pure. */

import { countInWords, shortDayInWords, weekInWords } from "../../words.js";

const CARE_WORDS = { repaired: "dripper fixed" };

/** What was done, as the buttons of the walk say it. */
export const careInWords = (action) => CARE_WORDS[action] ?? action;

const DUE_WORDS = {
  fed: "feed",
  sprayed: "spray",
  deadheaded: "deadhead",
  trimmed: "trim",
  watered: "water",
  repaired: "look at the dripper",
};

/** "Due: feed, 3 days over; spray (Bt), today" */
export function dueInWords(due) {
  return due.length ? `Due: ${due.map(oneDue).join("; ")}` : "";
}

function oneDue({ action, product, overdueDays: days }) {
  const what = [DUE_WORDS[action] ?? action, product && `(${product})`].filter(Boolean).join(" ");
  return `${what}, ${days ? `${countInWords(days, "day")} over` : "today"}`;
}

/** "dry, one plant lagging (plant 3)"; what two phones found alike is said once */
export function findingsInWords(findings) {
  return [...new Set(findings.map(({ fields }) => findingInWords(fields)))].join(", ");
}

export const findingInWords = ({ what, plant }) => (plant ? `${what} (plant ${plant})` : what);

export function daysSinceInWords(days) {
  if (days === null) return "no photo yet";
  if (days < 0) return `photo ${countInWords(-days, "day")} ahead of today`;
  if (days === 0) return "photo today";
  return `photo ${countInWords(days, "day")} ago`;
}

/** "week 6, photo 13 days ago" */
export function whereItStands(entry, day) {
  return [weekInWords(entry.planting.fields.planted_on, day), daysSinceInWords(entry.daysSincePhoto)]
    .filter(Boolean)
    .map((piece) => piece.replaceAll(" ", "\u00a0"))
    .join(", ");
}

/** How a planting is called on the walk: its planter, and its cultivar too where others stand in that planter. */
export function placeInWords(store, planting) {
  const planter = store.get("planter", planting.fields.planter_id);
  const cultivar = store.get("cultivar", planting.fields.cultivar_id)?.fields.name;
  if (!planter) return cultivar ? `‘${cultivar}’` : "a planting";
  const { planter_id: place, removed_on: removed } = planting.fields;
  const isShared = store
    .all("planting")
    .some(
      (other) =>
        other.id !== planting.id && other.fields.planter_id === place && !removed && !other.fields.removed_on,
    );
  return isShared && cultivar ? `${planter.fields.name}, ‘${cultivar}’` : planter.fields.name;
}

export function ratingsInWords({ fields }, names) {
  return names.filter((name) => fields[name]).map((name) => `${name} ${fields[name]}`);
}

/** Said when the phone's clock and the journal's differ so much that days or their order would be wrong. */
export function clockInWords(offSeconds) {
  const off = Math.abs(offSeconds ?? 0);
  if (off < 600) return "";
  const size =
    off >= 23.5 * 3600
      ? `about ${countInWords(Math.round(off / 86400), "day")}`
      : off >= 5400
        ? `about ${countInWords(Math.round(off / 3600), "hour")}`
        : countInWords(Math.round(off / 60), "minute");
  return (
    `This phone’s clock is ${size} ${offSeconds > 0 ? "ahead of" : "behind"} the journal’s. ` +
    "Photos and remarks get the phone’s day: set its clock right before you walk. Nothing already saved is lost."
  );
}

export const lastSeenInWords = (photo) => `The last photo, of ${shortDayInWords(photo.fields.taken_at)}`;
