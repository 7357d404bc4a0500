/** What an entry of the queue is, in a few words. Pure. */

import { describePlanting } from "../store/queries.js";
import { capital, countInWords, momentInWords } from "../words.js";

const KIND_WORDS = {
  care: "care",
  care_plan: "care that comes again",
  plant_count: "number of plants",
  weather: "weather",
  correction: "correction by hand",
};

const LONGEST_DETAIL = 60;

const kindInWords = (kind) => KIND_WORDS[kind] ?? kind.replaceAll("_", " ");

/** "Photo: Plum Gaslight, 12 June 2026, 10:14, UTC+02:00"; "Finding “dry”: Plum Gaslight, …" */
export function sayEntry(store, entry) {
  if (entry.kind === "photo")
    return say("Photo", store, { ...entry.seen, ...entry.form }, entry.form.taken_at ?? entry.at);
  if (entry.kind === "recording")
    return say("Spoken remark", store, entry.form, entry.form.recorded_at ?? entry.at);
  const [first] = entry.changes;
  const verb = first.delete ? "Taking back: " : first.restore ? "Putting back: " : "";
  const more =
    entry.changes.length > 1 ? ` and ${countInWords(entry.changes.length - 1, "more change")}` : "";
  const record = store.get(first.kind, first.id) ?? store.lastSaid(first.kind, first.id);
  const fields = { ...record?.fields, ...first.fields };
  const words = [kindInWords(first.kind), detailOf(fields, first.fields)].filter(Boolean).join(" ");
  return say(capital(verb + words), store, fields, entry.at) + more;
}

/** What was noted, so that a person who is asked about it knows what it is about. */
function detailOf({ what, action }, { remark } = {}) {
  const detail = what ?? action ?? remark;
  if (!detail) return null;
  return `“${detail.length > LONGEST_DETAIL ? `${detail.slice(0, LONGEST_DETAIL)} …` : detail}”`;
}

/** "Remark of the visit: Plum Gaslight" */
export function sayConflict(store, { kind, id, field }) {
  const fields = store.get(kind, id)?.fields ?? {};
  return say(`${capital(field.replaceAll("_", " "))} of the ${kindInWords(kind)}`, store, fields, null);
}

function say(words, store, fields, at) {
  const about = [store.get("visit", fields.visit_id), store.get("photo", fields.photo_id)];
  const plantingId = fields.planting_id ?? about.find(Boolean)?.fields.planting_id;
  const name = plantingName(store, plantingId) ?? fields.name ?? fields.title ?? store.get("cultivar", fields.cultivar_id)?.fields.name;
  return [name ? `${words}: ${name}` : words, at && momentInWords(at)].filter(Boolean).join(", ");
}

/** Also of one that was deleted elsewhere: what was noted of it may still wait. */
function plantingName(store, id) {
  const known = describePlanting(store, id)?.name;
  const cultivarId = store.lastSaid("planting", id)?.fields?.cultivar_id;
  return known ?? store.get("cultivar", cultivarId)?.fields.name;
}
