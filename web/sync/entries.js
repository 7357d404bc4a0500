/** What a person did, as entries of the queue; and what an entry changes in what the person sees. Pure. */

/** Edits carry the version that was seen when they were made; a new record carries an empty one. */
export function changesEntry(store, changes, at) {
  return {
    kind: "changes",
    at,
    attention: null,
    changes: oneForEachRecord(changes).map((change) => withBase(store, change)),
  };
}

function withBase(store, change) {
  if (!change.fields) return change;
  const seen = store.lastSaid(change.kind, change.id)?.version;
  const base =
    seen === undefined ? {} : Object.fromEntries(Object.keys(change.fields).map((name) => [name, seen]));
  return { ...change, base };
}

/** Two changes of one record in one go are one change: the server judges each record once in a batch. */
function oneForEachRecord(changes) {
  const byId = new Map();
  for (const change of changes) {
    const before = byId.get(change.id);
    byId.set(
      change.id,
      before?.fields && change.fields
        ? { ...before, fields: { ...before.fields, ...change.fields } }
        : change,
    );
  }
  return [...byId.values()];
}

/**
 * With a visit the planting is not sent: the server takes it from the visit, unless the card in the photo is another
 * planting's. Until then the photo is seen at the planting (`seen`).
 */
export function photoEntry({ id, sha256, bytes, mime, fileName, takenAt, visitId, plantingId, how }, at) {
  const form = given({ visit_id: visitId, planting_id: visitId ? null : plantingId, taken_at: takenAt, how });
  const seen = given({ planting_id: plantingId });
  return {
    kind: "photo",
    at,
    attention: null,
    id,
    sha256,
    size: bytes.byteLength,
    mime,
    fileName,
    form,
    seen,
  };
}

export function recordingEntry({ id, sha256, bytes, mime, seconds, recordedAt, visitId, plantingId }, at) {
  const form = { visit_id: visitId, planting_id: plantingId, recorded_at: recordedAt, seconds };
  const fileName = `remark.${/mp4|aac/.test(mime) ? "m4a" : /wav/.test(mime) ? "wav" : /ogg/.test(mime) ? "ogg" : "webm"}`;
  return {
    kind: "recording",
    at,
    attention: null,
    id,
    sha256,
    size: bytes.byteLength,
    mime,
    fileName,
    form: given(form),
  };
}

const given = (form) =>
  Object.fromEntries(Object.entries(form).filter(([, value]) => value !== undefined && value !== null));

/** @param {import("../store/outbox.js").Entry} entry @returns {import("../store/record_store.js").Change[]} */
export function seenChanges(entry) {
  if (entry.kind === "changes") return entry.changes;
  const fields = {
    ...entry.seen,
    ...entry.form,
    file_name: entry.fileName,
    mime: entry.mime,
    bytes: entry.size,
    sha256: entry.sha256,
    waiting: true,
  };
  return [{ kind: entry.kind, id: entry.id, fields }];
}
