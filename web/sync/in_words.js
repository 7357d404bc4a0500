/** What an entry of the queue is, in a few words. Pure. */

import { describePlanting } from "../store/queries.js";
import { countInWords, momentInWords } from "../words.js";

const KIND_WORDS = {
  care: "care",
  care_plan: "care that comes again",
  plant_count: "number of plants",
  weather: "weather",
};

const kindInWords = (kind) => KIND_WORDS[kind] ?? kind.replaceAll("_", " ");

/** "Photo of Plum Gaslight, 12 June 2026, 10:14" */
export function sayEntry(store, entry) {
  if (entry.kind === "photo") return say("Photo", store, entry.form, entry.form.taken_at ?? entry.at);
  if (entry.kind === "recording")
    return say("Spoken remark", store, entry.form, entry.form.recorded_at ?? entry.at);
  const [first] = entry.changes;
  const verb = first.delete ? "Taking back: " : first.restore ? "Putting back: " : "";
  const more =
    entry.changes.length > 1 ? ` and ${countInWords(entry.changes.length - 1, "more change")}` : "";
  const record = store.get(first.kind, first.id) ?? store.lastSaid(first.kind, first.id);
  const words = kindInWords(first.kind);
  return (
    say(capital(verb ? verb + words : words), store, { ...record?.fields, ...first.fields }, entry.at) + more
  );
}

/** "Remark, visit of Plum Gaslight" */
export function sayConflict(store, { kind, id, field }) {
  const fields = store.get(kind, id)?.fields ?? {};
  return say(`${capital(field.replaceAll("_", " "))} of the ${kindInWords(kind)}`, store, fields, null);
}

function say(words, store, fields, at) {
  const plantingId = fields.planting_id ?? store.get("visit", fields.visit_id)?.fields.planting_id;
  const name = describePlanting(store, plantingId)?.name ?? fields.name ?? fields.title;
  return [name ? `${words}: ${name}` : words, at && momentInWords(at)].filter(Boolean).join(", ");
}

const capital = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);
