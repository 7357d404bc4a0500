/**
 * The one place that holds the journal's records: what the server last said, with this device's own
 * changes that it has not yet answered laid over it.
 *
 * @typedef {{kind: string, id: string, seq: number, version: number, deleted: boolean, fields: Object}} Rec
 * @typedef {{kind: string, id: string, fields?: Object, base?: Object, delete?: boolean}} Change
 */

import { foresee } from "./foresee.js";

export class RecordStore {
  #kinds = new Map();
  #expected = new Map();
  #stamps = new Map();
  #watchers = new Set();
  #nextToken = 1;
  cursor = 0;

  /** @returns {Rec | null} the record as this device sees it, null when unknown or deleted */
  get(kind, id) {
    if (!id) return null;
    let record = this.lastSaid(kind, id);
    for (const change of this.#expected.values()) {
      if (change.id === id && change.kind === kind) record = foresee(record, change);
    }
    return record && !record.deleted ? record : null;
  }

  /** What the server last said of a record, without this device's unanswered changes. @returns {Rec | null} */
  lastSaid(kind, id) {
    return this.#kinds.get(kind)?.get(id) ?? null;
  }

  /** @returns {Rec[]} */
  all(kind) {
    const ids = new Set(this.#kinds.get(kind)?.keys());
    for (const change of this.#expected.values()) if (change.kind === kind) ids.add(change.id);
    return [...ids].map((id) => this.get(kind, id)).filter(Boolean);
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

  /** Lays changes over the records until `settle` is called with the token. @returns {number} token */
  expect(changes) {
    const token = this.#nextToken++;
    changes.forEach((change, index) => this.#expected.set(`${token}/${index}`, change));
    this.#tell(new Set(changes.map((change) => change.kind)));
    return token;
  }

  settle(token, records = []) {
    const touched = new Set();
    for (const [key, change] of this.#expected) {
      if (!key.startsWith(`${token}/`)) continue;
      this.#expected.delete(key);
      touched.add(change.kind);
    }
    this.receive(records);
    this.#tell(touched);
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

  #tell(kinds) {
    if (!kinds.size) return;
    for (const kind of kinds) this.#stamps.set(kind, (this.#stamps.get(kind) ?? 0) + 1);
    for (const tell of this.#watchers) tell(kinds);
  }
}
