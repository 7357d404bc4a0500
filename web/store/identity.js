/** What a planting is, was thought to be, and how that is changed. Pure: the day and the ids come in. */

import { cultivarInWords } from "../words.js";
import { folded } from "./search.js";

export const isInDoubt = (planting) => planting.fields.identity === "doubtful";

/** The cultivar of the journal that these words name, as far as they name exactly one; else null. */
export function cultivarNamed(store, words) {
  const wanted = folded(words ?? "");
  if (!wanted) return null;
  const named = store
    .all("cultivar")
    .filter((one) => [one.fields.name, cultivarInWords(one)].some((name) => folded(name ?? "") === wanted));
  return named.length === 1 ? named[0] : null;
}

/** The changes that say what a planting is. @param {{id: string, day: string, why: string}} how id: of the note */
export function itIs(store, planting, cultivar, { id, day, why }) {
  const fields = { cultivar_id: cultivar?.id ?? planting.fields.cultivar_id, identity: "confirmed", looks_like: null };
  return [
    { kind: "planting", id: planting.id, fields },
    noteOf(store, planting, { id, day, why, thought: "confirmed", cultivar, says: cultivar && cultivarInWords(cultivar) }),
  ];
}

/** The changes that doubt what a planting is. */
export function inDoubt(store, planting, { id, day, why, labelSaid, looksLike }) {
  const fields = { identity: "doubtful", label_said: labelSaid || null, looks_like: looksLike || null };
  const cultivar = store.get("cultivar", planting.fields.cultivar_id);
  const doubted = { ...planting, fields: { ...planting.fields, ...fields } };
  return [
    { kind: "planting", id: planting.id, fields },
    noteOf(store, doubted, { id, day, why, thought: "doubtful", cultivar, says: looksLike }),
  ];
}

/** The note for a planting that was changed in the set-up; null where nothing of its identity was. */
export function noteOfEdit(store, before, after, { id, day }) {
  const [was, is] = [before.fields, after.fields];
  if (was.cultivar_id === is.cultivar_id && was.identity === is.identity) return null;
  const cultivar = store.get("cultivar", is.cultivar_id);
  const doubtful = isInDoubt(after);
  const says = doubtful ? is.looks_like : cultivarInWords(cultivar);
  const labelled = { ...before, fields: { ...was, label_said: is.label_said } };
  return noteOf(store, labelled, { id, day, thought: doubtful ? "doubtful" : "confirmed", cultivar, says });
}

function noteOf(store, planting, { id, day, why, thought, cultivar, says }) {
  const was = store.get("cultivar", planting.fields.cultivar_id);
  const fields = {
    planting_id: planting.id,
    decided_on: day,
    thought,
    was_cultivar_id: was?.id ?? null,
    was_named: was ? cultivarInWords(was) : null,
    label_said: planting.fields.label_said ?? null,
    cultivar_id: cultivar?.id ?? null,
    says: says || null,
    note: why || null,
  };
  return { kind: "identity_note", id, fields };
}

/** The changes that take such changes back, the last first. @param {{kind: string, id: string, fields: Object}[]} changes */
export function takenBack(planting, changes) {
  return [...changes].reverse().map(({ kind, id, fields }) =>
    kind === "planting"
      ? { kind, id, fields: Object.fromEntries(Object.keys(fields).map((name) => [name, planting.fields[name] ?? null])) }
      : { kind, id, delete: true },
  );
}

/** Notes on a planting in the order of their days; of one day as they were made. */
export function identityNotes(store, plantingId) {
  return store
    .all("identity_note")
    .filter(({ fields }) => fields.planting_id === plantingId)
    .sort((a, b) => a.fields.decided_on.localeCompare(b.fields.decided_on) || (a.seq || Infinity) - (b.seq || Infinity));
}

/** A doubt raised on that day, if it is the last word on the planting: taking it back leaves no trace. */
export function doubtOfDay(store, plantingId, day) {
  const last = identityNotes(store, plantingId).at(-1);
  return last?.fields.thought === "doubtful" && last.fields.decided_on === day ? last : null;
}

/**
 * What was thought when, oldest first. Names are those of that day.
 *
 * @returns {{day: string, words: string, note: string | null, record?: Object}[]} record: the note, which may be changed
 */
export function thoughtWhen(store, planting) {
  const notes = identityNotes(store, planting.id);
  const first = notes[0]?.fields.was_named ?? cultivarInWords(store.get("cultivar", planting.fields.cultivar_id));
  const begun = { day: planting.fields.planted_on, words: `Planted as ${first}.`, note: null };
  const told = (record) => ({ day: record.fields.decided_on, words: inWords(record.fields), note: record.fields.note ?? null, record });
  return [begun, ...notes.map(told)];
}

function inWords({ thought, was_named: was, was_cultivar_id: wasId, cultivar_id: id, label_said: label, says }) {
  if (thought === "doubtful") {
    const moved = wasId !== id ? `taken for another than ${was ?? "before"}` : null;
    const why = [moved, label && `the label said “${label}”`, says && `it looks like ${says}`].filter(Boolean);
    return why.length ? `In doubt: ${why.join("; ")}.` : "In doubt.";
  }
  const named = says ?? "what it was entered as";
  if (wasId === id || !was) return `It is ${named}, as it was entered.`;
  const labelled = label && !was.includes(label) ? ` The label said “${label}”.` : "";
  return `It is ${named}, not ${was}.${labelled}`;
}
