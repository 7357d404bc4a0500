/** Everything on this device that can be searched, as plain text in groups. Pure. */

import { cultivarInWords } from "../words.js";
import { plantingsInWalkOrder } from "./queries.js";
import { folded } from "./search.js";

/** Kinds of records that are looked into: when one of them changes, the index is made anew. */
export const SEARCHED = [
  "trial", "cultivar", "planter", "planting", "visit", "finding", "care", "plant_count", "identity_note",
  "look_at_answer", "verdict", "photo", "recording",
]; // prettier-ignore

const VERDICT_WORDS = ["grow_again", "good_for", "needs", "one_line", "text", "strengths", "weaknesses", "companions"];

/** @returns {{name: string, entries: import("./search.js").Entry[]}[]} */
export function searchIndex(store) {
  const around = placesOf(store);
  const dated = (kind, dayField, own) => datedEntries(store, kind, dayField, own, around);
  return [
    { name: "Plantings", entries: plantings(store, around) },
    { name: "Cultivars", entries: byName(store, "cultivar", cultivarInWords, ["note", "habit"]) },
    { name: "Planters", entries: byName(store, "planter", ({ fields }) => fields.name, ["planter_kind", "exposure", "note"]) },
    { name: "Trials", entries: byName(store, "trial", ({ fields }) => fields.title, ["year", "site", "note"]) },
    { name: "Remarks", entries: remarks(dated) },
    { name: "Verdicts", entries: byName(store, "verdict", ({ fields }) => nameOf(store, fields.cultivar_id), VERDICT_WORDS) },
    { name: "Findings", entries: dated("finding", "found_on", ["what", "note"]) },
    { name: "Care", entries: dated("care", "done_on", ["action", "product", "note"]) },
    { name: "Counts", entries: dated("plant_count", "counted_on", ["reason", "note"]) },
    { name: "What was thought when", entries: dated("identity_note", "decided_on", ["was_named", "label_said", "says", "note"]) },
    { name: "Photos", entries: dated("photo", "taken_at", ["file_name"]) },
    { name: "Recordings", entries: dated("recording", "recorded_at", ["note", "file_name"]) },
  ];
}

/** Of each planting: its name and place as text, and its day of planting. */
function placesOf(store) {
  return new Map(
    store.all("planting").map((planting) => {
      const { cultivar_id: cultivar, planter_id: planter, trial_id: trial, planted_on: plantedOn } = planting.fields;
      const said = [nameOf(store, cultivar), store.get("planter", planter)?.fields.name, trialWords(store, trial)];
      return [planting.id, { text: joined(said), plantedOn }];
    }),
  );
}

const nameOf = (store, cultivarId) => {
  const cultivar = store.get("cultivar", cultivarId);
  return cultivar ? [cultivarInWords(cultivar), ...(cultivar.fields.earlier_names ?? [])].join(" ") : "";
};

function trialWords(store, trialId) {
  const { title, year } = store.get("trial", trialId)?.fields ?? {};
  return [title, year].filter(Boolean).join(" ");
}

const joined = (parts) => folded(parts.filter((part) => part !== null && part !== undefined && part !== "").join(" "));

/** The latest season first, each in walking order. */
function plantings(store, around) {
  const year = (planting) => store.get("trial", planting.fields.trial_id)?.fields.year ?? 0;
  return plantingsInWalkOrder(store)
    .sort((a, b) => year(b) - year(a))
    .map((planting) => {
      const { label_said: label, looks_like: like, card_code: card, note, planted_on: day } = planting.fields;
      const { text } = around.get(planting.id);
      return { kind: "planting", id: planting.id, plantingId: planting.id, own: `${text} ${joined([label, like, card, note])}`, around: "", day, plantedOn: null, name: text };
    });
}

function byName(store, kind, nameWords, more) {
  return store
    .all(kind)
    .map((record) => {
      const name = folded(nameWords(record) ?? "");
      const others = [...(record.fields.earlier_names ?? []), ...more.map((field) => record.fields[field])];
      return { kind, id: record.id, own: `${name} ${joined(others)}`, around: "", day: null, plantedOn: null, name };
    })
    .sort((a, b) => (a.name < b.name ? -1 : Number(a.name > b.name)));
}

const NOWHERE = { text: "", plantedOn: null };

/** The newest first. */
function datedEntries(store, kind, dayField, own, around) {
  return store
    .all(kind)
    .map((record) => {
      const { [dayField]: day = null, planting_id: plantingId = null } = record.fields;
      const { text, plantedOn } = around.get(plantingId) ?? NOWHERE;
      return { kind, id: record.id, plantingId, own: joined(own.map((field) => record.fields[field])), around: text, day, plantedOn, name: "" };
    })
    .sort(newestFirst);
}

const newestFirst = (a, b) => ((a.day ?? "") < (b.day ?? "") ? 1 : -Number((a.day ?? "") > (b.day ?? "")));

/** What was written at visits, and beside things to look at. A visit without a remark says nothing. */
function remarks(dated) {
  return [...dated("visit", "visited_on", ["remark"]), ...dated("look_at_answer", "day", ["note"])]
    .filter(({ own }) => own)
    .sort(newestFirst);
}
