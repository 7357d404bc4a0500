/**
 * The journal's records as this device sees them, in memory: what the server last said, with this device's own
 * changes that it has not yet answered laid over it.
 *
 * @typedef {{kind: string, id: string, seq: number, version: number, deleted: boolean, fields: Object,
 *   field_versions?: Object<string, number>}} Rec
 * @typedef {{kind: string, id: string, fields?: Object, base?: Object<string, number>, delete?: boolean, restore?: boolean}} Change
 */

import { foresee } from "./foresee.js";

export class RecordStore {
  #kinds = new Map();
  /** Changes by token in the order in which they were made. @type {Map<any, Change[]>} */
  #expected = new Map();
  /** The same changes by kind and id; made anew when first asked for. @type {Map<string, Map<string, Change[]>> | null} */
  #laidOver = null;
  #stamps = new Map();
  #watchers = new Set();
  #nextToken = 1;
  cursor = 0;

  /** @returns {Rec | null} the record as this device sees it, null when unknown or deleted */
  get(kind, id) {
    if (!id) return null;
    let record = this.lastSaid(kind, id);
    for (const change of this.#over(kind)?.get(id) ?? []) record = foresee(record, change);
    return record && !record.deleted ? record : null;
  }

  /** What the server last said of a record, without this device's unanswered changes. @returns {Rec | null} */
  lastSaid(kind, id) {
    return this.#kinds.get(kind)?.get(id) ?? null;
  }

  /** @returns {Rec[]} */
  all(kind) {
    const said = this.#kinds.get(kind) ?? new Map();
    const over = this.#over(kind);
    const found = [];
    for (const record of said.values()) {
      const seen = over?.has(record.id) ? this.get(kind, record.id) : record;
      if (seen && !seen.deleted) found.push(seen);
    }
    for (const id of over?.keys() ?? []) {
      const made = said.has(id) ? null : this.get(kind, id);
      if (made) found.push(made);
    }
    return found;
  }

  /** Takes records from the server; a record older than the one held is left out. */
  receive(records) {
    const touched = new Set();
    for (const record of records) {
      if (!this.#kinds.has(record.kind)) this.#kinds.set(record.kind, new Map());
      const held = this.#kinds.get(record.kind).get(record.id);
      if (held && held.seq > record.seq) continue;
      this.#kinds.get(record.kind).set(record.id, record);
      touched.add(record.kind);
    }
    this.#tell(touched);
  }

  /** Forgets what the server said: another feed begins. */
  startAnew() {
    const touched = new Set(this.#kinds.keys());
    this.#kinds.clear();
    this.cursor = 0;
    this.#tell(touched);
  }

  /**
   * Lays changes over the records until `settle` is called with the token. Given a token that lies there already,
   * they take the place of its changes.
   *
   * @returns {any} the token
   */
  expect(changes, token = `own ${this.#nextToken++}`) {
    const before = this.#expected.get(token) ?? [];
    this.#expected.set(token, changes);
    this.#laidOver = null;
    this.#tell(kindsOf([...before, ...changes]));
    return token;
  }

  settle(token, records = []) {
    const changes = this.#expected.get(token) ?? [];
    this.#expected.delete(token);
    this.#laidOver = null;
    this.receive(records);
    this.#tell(kindsOf(changes));
  }

  /** A number that grows whenever a record of one of these kinds changes. */
  stamp(kinds) {
    return kinds.reduce((sum, kind) => sum + (this.#stamps.get(kind) ?? 0), 0);
  }

  /** @returns {() => void} stops watching */
  watch(tell) {
    this.#watchers.add(tell);
    return () => this.#watchers.delete(tell);
  }

  /** Says that records of these kinds look different though nothing in them changed (a picture is there now). */
  touch(kinds) {
    this.#tell(new Set(kinds));
  }

  #over(kind) {
    this.#laidOver ??= byKindAndId([...this.#expected.values()].flat());
    return this.#laidOver.get(kind);
  }

  #tell(kinds) {
    if (!kinds.size) return;
    for (const kind of kinds) this.#stamps.set(kind, (this.#stamps.get(kind) ?? 0) + 1);
    for (const tell of this.#watchers) tell(kinds);
  }
}

const kindsOf = (changes) => new Set(changes.map((change) => change.kind));

function byKindAndId(changes) {
  const kinds = new Map();
  for (const change of changes) {
    if (!kinds.has(change.kind)) kinds.set(change.kind, new Map());
    const ids = kinds.get(change.kind);
    ids.set(change.id, [...(ids.get(change.id) ?? []), change]);
  }
  return kinds;
}
