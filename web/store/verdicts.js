/** Verdicts: which there are to write, how far each is, which of the numbers under its text have changed. Pure. */

import { derivedId } from "./ids.js";
import { photosByPlanting, plantingsInWalkOrder } from "./queries.js";
import { quotedParts, worded } from "./quoted_text.js";

export const verdictId = (trialId, cultivarId, place) => derivedId("verdict", trialId, cultivarId, place);

export const GROW_AGAIN = ["yes", "no", "again elsewhere", "undecided"];
export const GOOD_FOR = [
  "container", "ground", "edge that trails", "filler", "upright accent", "spring to autumn", "heat", "afternoon shade",
];
export const NEEDS = ["deadheading", "spraying", "space", "water"];
export const NEXT_YEAR = ["again", "more", "drop", "try elsewhere"];
export const PICTURES = ["best", "peak", "latest", "before", "after"];

/** The fields in which quoted numbers may stand, the text first. */
export const TEXTS = ["text", "one_line", "strengths", "weaknesses", "companions"];

/** What a written verdict has, with the words for what is missing. */
const NEEDED = { grow_again: "grow again", one_line: "one line", text: "text", next_year: "next year" };
const NEEDED_TO_BE_WRITTEN = ["grow_again", "one_line", "text"];
const ABOUT = ["trial_id", "cultivar_id", "place"];
const GONE = "it can no longer be had";
const NOT_KNOWN = "not known";

/** So much of what stood before a number is kept, to find it again. */
const BEFORE_LENGTH = 40;
const MOST_PHOTOS_BEHIND = 500;

/** A bed is ground, every other kind of planter a container. */
export const placeOf = (planterKind) => (planterKind === "bed" ? "ground" : "container");

export const missing = (fields) => Object.entries(NEEDED).filter(([name]) => !fields[name]).map(([, words]) => words);

/** @param {Object | null} fields @returns {"not begun" | "begun" | "written"} */
export function stateOf(fields) {
  if (!fields || !Object.entries(fields).some(([name, value]) => !ABOUT.includes(name) && isSaid(value))) return "not begun";
  return NEEDED_TO_BE_WRITTEN.every((name) => fields[name]) ? "written" : "begun";
}

const isSaid = (value) =>
  typeof value === "object" && value !== null ? Object.keys(value).length > 0 : value !== undefined && value !== null && value !== "";

/**
 * Those quoted numbers that are worded otherwise now, unless a person has seen that wording and kept the text.
 *
 * @param {Object[]} quoted @param {{key: string, planting_id: string, shown: string | null, interval: string | null,
 *   reason: string | null}[]} now
 */
export function changedNumbers(quoted, now) {
  return quoted.flatMap((one, place) => {
    const here = now.find((number) => number.key === one.key && number.planting_id === one.planting_id);
    const words = here?.shown ? worded(here.shown, here.interval) : null;
    const was = worded(one.shown, one.interval);
    if ([was, one.kept].includes(words ?? NOT_KNOWN)) return [];
    const reason = words ? null : (here?.reason ?? GONE);
    return [{ place, key: one.key, planting_id: one.planting_id, was, now: words, reason }];
  });
}

/**
 * A number as it is kept beside a text that it was just put into; `before`: what stands before it there. In the one
 * written form that the server has for it, so that a later edit is seen to rest on this one.
 */
export function quotedEntry(number, before) {
  const { key, planting_id, shown, interval, on, photo_ids, estimate } = number;
  return {
    key, planting_id, shown, interval, ...estimate, on,
    before: before.slice(-BEFORE_LENGTH).trim() || null, kept: null, photo_ids: photo_ids.slice(0, MOST_PHOTOS_BEHIND),
  };
}

/** What is kept beside a text once a sentence was put at its end. */
export function quotedOfSentence({ parts }) {
  let before = "";
  const entries = [];
  for (const { text, number } of parts) {
    if (number) entries.push(quotedEntry(number, before));
    before += text;
  }
  return entries;
}

/**
 * Puts the new wording of one number into the texts.
 *
 * @param {Object<string, string | null>} texts by field @param {Object[]} quoted @param {number} place in the list
 * @param {Object} number as it is now @returns {{texts: Object<string, string>, quoted: Object[]}} only the texts that changed
 */
export function withNewNumber(texts, quoted, place, number) {
  const names = Object.keys(texts);
  const old = quoted[place];
  const changed = {};
  quotedParts(Object.values(texts), quoted).forEach((parts, at) => {
    if (!parts.some((part) => part.quoted === place)) return;
    const renewed = ({ text, quoted: of }) => {
      if (of !== place) return text;
      return text.length > old.shown.length ? worded(number.shown, number.interval) : number.shown;
    };
    changed[names[at]] = parts.map(renewed).join("");
  });
  const fresh = { ...quotedEntry(number, ""), before: old.before ?? null };
  return { texts: changed, quoted: quoted.map((one, index) => (index === place ? fresh : one)) };
}

/** The same list, in which a person has seen the present wording of one number and keeps what is written. */
export const withKept = (quoted, { place, now }) =>
  quoted.map((one, index) => (index === place ? { ...one, kept: now ?? NOT_KNOWN } : one));

/**
 * Every cultivar in every kind of place it stands in, in walking order; and those that have a verdict but stand nowhere
 * any more.
 *
 * @returns {{id: string, cultivarId: string, place: string, plantings: Object[], record: Object | null}[]}
 */
export function verdictsToWrite(store, trialId) {
  const found = new Map();
  const seat = (cultivarId, place) => {
    const id = verdictId(trialId, cultivarId, place);
    if (!found.has(id)) found.set(id, { id, cultivarId, place, plantings: [], record: store.get("verdict", id) });
    return found.get(id);
  };
  for (const planting of plantingsInWalkOrder(store, trialId)) {
    const kind = store.get("planter", planting.fields.planter_id)?.fields.planter_kind;
    seat(planting.fields.cultivar_id, placeOf(kind)).plantings.push(planting);
  }
  for (const { fields } of store.all("verdict")) if (fields.trial_id === trialId) seat(fields.cultivar_id, fields.place);
  return [...found.values()];
}

/** All photos of these plantings, oldest first. */
export function photosOf(store, plantings) {
  const photos = photosByPlanting(store);
  return plantings
    .flatMap(({ id }) => photos.get(id) ?? [])
    .sort((a, b) => (a.fields.taken_at ?? "").localeCompare(b.fields.taken_at ?? ""));
}

export const verdictScreenAddress = (trialId, cultivarId, place) => `#/review/verdict/${trialId}/${cultivarId}/${place}`;
export const reportOnCultivarAddress = (trialId, cultivarId) => `#/review/reports/${trialId}?of=cultivar&cultivar=${cultivarId}`;
export const draftsAddress = (trialId, cultivarId, place) =>
  `/api/verdict-drafts?${new URLSearchParams({ trial: trialId, cultivar: cultivarId, place })}`;
export const verdictsAddress = (trialId) => `/api/verdicts?trial=${trialId}`;
