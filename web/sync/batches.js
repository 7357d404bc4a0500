/** Which edits may go in the next request. Pure. */

const MOST_CHANGES = 300;

/**
 * The longest run of edits that can be judged together. Left for later are: a second edit of a record that the batch
 * already edits (it rests on what becomes of the first), what speaks of a photo or recording that is not on the
 * server yet, and what rests on a record whose making the server refused.
 *
 * @param {import("../store/outbox.js").Entry[]} entries in order
 * @param {{mayGo?: (entry: Object) => boolean, alone?: (entry: Object) => boolean}} [how] `mayGo`: not waiting for its next try;
 *   `alone`: has failed in company, so that it is sent by itself
 * @returns {import("../store/outbox.js").ChangesEntry[]}
 */
export function nextBatch(entries, { mayGo = () => true, alone = () => false } = {}) {
  const batch = [];
  const edited = new Set();
  const notThereYet = new Set(entries.filter((entry) => entry.kind !== "changes").map((entry) => entry.id));
  let count = 0;
  for (const entry of entries) {
    if (entry.kind !== "changes") continue;
    const held = mentions(entry, notThereYet) || touches(entry, edited) || entry.attention || !mayGo(entry);
    if (held) {
      for (const id of entry.attention ? made(entry) : touched(entry)) notThereYet.add(id);
      continue;
    }
    if (alone(entry)) {
      if (!batch.length) return [entry];
      break;
    }
    if (count + entry.changes.length > MOST_CHANGES && batch.length) break;
    batch.push(entry);
    count += entry.changes.length;
    for (const id of touched(entry)) edited.add(id);
  }
  return batch;
}

const touched = (entry) => entry.changes.map((change) => change.id);
const made = (entry) => entry.changes.filter(isCreate).map((change) => change.id);
const isCreate = (change) => change.base && !Object.keys(change.base).length;
const touches = (entry, ids) => entry.changes.some((change) => ids.has(change.id));

/** Whether an edit is of one of these records or points at one. */
export function mentions(entry, ids) {
  if (!ids.size) return false;
  return entry.changes.some(
    (change) => ids.has(change.id) || Object.values(change.fields ?? {}).some((value) => ids.has(value)),
  );
}
