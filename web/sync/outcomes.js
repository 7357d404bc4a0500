/** What an answer of the server means for what waits. Pure: the queue is changed by whoever asked. */

/** @typedef {import("../store/outbox.js").Outcome} Outcome */

const DONE = ["applied", "merged"];

/**
 * Edits that were sent and what the server says of each. Applied ones go; of a clash the values are kept for a person
 * and the other fields wait on; refused ones stay with the reason.
 *
 * @param {import("../store/outbox.js").ChangesEntry[]} batch @param {Object[]} results in the order of the changes sent
 * @returns {Outcome | null} null when the answer does not speak of what was sent
 */
export function afterChanges(batch, results) {
  const sent = batch.flatMap((entry) => entry.changes);
  const echoed =
    Array.isArray(results) &&
    results.length === sent.length &&
    sent.every((change, at) => results[at].id === change.id);
  if (!echoed) return null;
  const outcome = { gone: [], changed: [], conflicts: [], records: [] };
  const applied = [];
  let at = 0;
  for (const entry of batch) {
    const own = results.slice(at, at + entry.changes.length);
    at += entry.changes.length;
    const left = { ...entry, changes: [], attention: null };
    own.forEach((result, index) => judge(entry, entry.changes[index], result, { outcome, applied, left }));
    if (left.changes.length) outcome.changed.push(left);
    else outcome.gone.push(entry.key);
  }
  outcome.later = (entry) => applied.reduce((moved, one) => movedUp(moved, one), entry);
  return outcome;
}

function judge(entry, change, result, { outcome, applied, left }) {
  if (result.record) outcome.records.push(result.record);
  if (DONE.includes(result.status)) {
    if (result.record) applied.push({ key: entry.key, change, record: result.record });
  } else if (result.status === "conflict") {
    outcome.conflicts.push(
      ...result.conflicts.map((clash) => conflictOf(entry, change, result.record, clash)),
    );
    const rest = withoutFields(change, new Set(result.conflicts.map(({ field }) => field)));
    if (rest) left.changes.push(rest);
  } else {
    left.changes.push(change);
    left.attention = refusedWith(result, left.attention);
  }
}

function conflictOf(entry, { kind, id }, record, { field, yours, theirs }) {
  const version = record?.field_versions?.[field] ?? record?.version ?? 0;
  const key = `${kind}/${id}/${field}`;
  return { key, entry: entry.key, kind, id, field, yours, theirs, version, seq: record?.seq ?? 0 };
}

function withoutFields(change, names) {
  const keep = (object) =>
    Object.fromEntries(Object.entries(object ?? {}).filter(([name]) => !names.has(name)));
  const fields = keep(change.fields);
  return Object.keys(fields).length ? { ...change, fields, base: keep(change.base) } : null;
}

function refusedWith(result, before) {
  const errors = result.errors?.length
    ? result.errors
    : [{ field: null, message: "The journal did not take this." }];
  const problems = [...(before?.problems ?? []), ...errors.map((error) => ({ id: result.id, ...error }))];
  return {
    message: [...new Set(problems.map(({ message }) => message))].join(" "),
    canRetry: true,
    problems,
  };
}

/**
 * A later edit of the same field rests on the earlier one of this device, so that own edits never clash. Where the
 * record already holds something else, another person was faster: the base stays, and the clash is shown.
 */
function movedUp(entry, { key, change, record }) {
  if (entry.kind !== "changes" || entry.key <= key) return entry;
  const own = entry.changes.find(
    ({ kind, id, fields }) => kind === change.kind && id === change.id && fields,
  );
  if (!own) return entry;
  const base = { ...own.base };
  for (const name of Object.keys(own.fields)) {
    const undisturbed =
      record.version === 1 ||
      (name in (change.fields ?? {}) && same(record.fields[name], change.fields[name]));
    if (undisturbed) base[name] = Math.max(base[name] ?? 0, record.field_versions?.[name] ?? record.version);
  }
  return { ...entry, changes: entry.changes.map((one) => (one === own ? { ...own, base } : one)) };
}

/** The server trims text, writes numbers as numbers and orders the keys of objects: that is no other value. */
const same = (a, b) => plain(a) === plain(b);
const plain = (value) => JSON.stringify(typeof value === "string" ? value.trim() || null : (value ?? null), inOrder);

function inOrder(_, value) {
  if (value === null || typeof value !== "object" || Array.isArray(value)) return value;
  return Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : Number(a > b))));
}

/**
 * A photo or recording that was sent. Only an answer that names the same id and the same bytes lets it go; where the
 * journal held these bytes already under another id, what was noted of it speaks of that one from now on.
 *
 * @param {import("../store/outbox.js").FileEntry} entry @returns {Outcome | null}
 */
export function afterFile(entry, answer) {
  const record = answer?.[entry.kind];
  const { id, sha256 } = answer?.received ?? {};
  if (!record?.id || id !== entry.id || sha256 !== entry.sha256) return null;
  const later = record.id === entry.id ? undefined : (other) => renamed(other, entry.id, record.id);
  return { gone: [entry.key], records: [record], ...(later && { later }) };
}

function renamed(entry, from, to) {
  if (entry.kind !== "changes") return entry;
  const swap = (value) => (value === from ? to : value);
  const changes = entry.changes.map((change) => ({
    ...change,
    id: swap(change.id),
    ...(change.fields && {
      fields: Object.fromEntries(Object.entries(change.fields).map(([name, value]) => [name, swap(value)])),
    }),
  }));
  return JSON.stringify(changes) === JSON.stringify(entry.changes) ? entry : { ...entry, changes };
}

/** The whole request was refused for good: everything in it stays, with the reason. @returns {Outcome} */
export function afterRefusal(entries, problem, canRetry = true) {
  const attention = {
    message: problem.message,
    canRetry,
    problems: [
      {
        id: entries[0].id ?? entries[0].changes[0].id,
        field: problem.field ?? null,
        message: problem.message,
      },
    ],
  };
  return { changed: entries.map((entry) => ({ ...entry, attention })) };
}
