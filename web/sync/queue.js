/** The queue as screens see it: what waits, what wants a person's eye, and what the person decides. */

import { mentions } from "./batches.js";
import { seenChanges } from "./entries.js";
import { sayEntry } from "./in_words.js";

export class Queue {
  #outbox;
  #store;
  #pictures;
  #watchers = new Set();
  /** What lies over the records, by entry. @type {Map<number, string>} */
  #laid = new Map();
  #shared = {
    sending: null,
    lastSyncAt: null,
    clockOffSeconds: null,
    room: null,
    reach: "yes",
    lasting: true,
  };
  entries = [];
  conflicts = [];
  /** Called after a change that other tabs and the sender should hear of. */
  onChange = () => {};

  /** @param {{outbox: import("../store/outbox.js").Outbox, store: import("../store/record_store.js").RecordStore, pictures: import("../store/waiting_pictures.js").WaitingPictures}} parts */
  constructor({ outbox, store, pictures }) {
    this.#outbox = outbox;
    this.#store = store;
    this.#pictures = pictures;
  }

  get state() {
    const files = this.entries.filter((entry) => entry.kind !== "changes");
    return {
      ...this.#shared,
      waiting: this.entries.filter((entry) => !entry.attention).length,
      bytes: files.reduce((sum, entry) => sum + entry.size, 0),
      photos: files.filter((entry) => entry.kind === "photo").length,
      attention: this.entries
        .filter((entry) => entry.attention)
        .map((entry) => ({
          key: entry.key,
          what: sayEntry(this.#store, entry),
          message: entry.attention.message,
          canRetry: entry.attention.canRetry,
        })),
      conflicts: this.conflicts.map((conflict) => this.#asItIsNow(conflict)),
    };
  }

  watch(tell) {
    this.#watchers.add(tell);
    return () => this.#watchers.delete(tell);
  }

  /** Sets parts of the state that others know: `sending`, `lastSyncAt`, `clockOffSeconds`, `room`, `reach`, `lasting`. */
  say(parts) {
    const before = this.#shared;
    this.#shared = { ...before, ...parts };
    if (JSON.stringify(before) !== JSON.stringify(this.#shared)) this.#tell();
  }

  /** Reads the queue from the disk and lays it over the records. */
  async reload() {
    const { entries, conflicts } = await this.#outbox.load();
    const keys = new Set(entries.map((entry) => entry.key));
    for (const entry of entries) this.#layOver(entry);
    for (const token of this.#laid.keys()) if (!keys.has(token)) this.#takeOff(token);
    Object.assign(this, { entries, conflicts });
    this.#pictures.keepOnly(new Set(entries.map((entry) => entry.id).filter(Boolean)));
    this.#tell();
  }

  /** @returns {Promise<import("../store/outbox.js").Entry>} once it is on the disk */
  async add(entry, file = null) {
    const kept = await this.#outbox.add(entry, file);
    if (file) this.#pictures.hold(entry.id, { ...file, mime: entry.mime });
    this.#layOver(kept);
    this.entries = [...this.entries.filter(({ key }) => key !== kept.key), kept];
    this.#tell();
    this.onChange();
    return kept;
  }

  /** Tries an entry that was refused once more. */
  async retry(key) {
    const entry = this.#find(key);
    if (!entry) return;
    await this.#outbox.settle({ changed: [{ ...entry, attention: null }] });
    await this.#changed();
  }

  /** Throws an entry away; of a photo or recording, with the edits that speak of it. */
  async drop(key) {
    const entry = this.#find(key);
    if (!entry) return;
    const ids = new Set([entry.id].filter(Boolean));
    const about = this.entries.filter((other) => other.kind === "changes" && mentions(other, ids));
    await this.#outbox.drop([entry, ...about]);
    await this.#changed();
  }

  /** @param {string} key of a conflict @param {"yours" | "theirs"} which */
  async choose(key, which) {
    const conflict = this.conflicts.find((one) => one.key === key);
    if (!conflict) return;
    const { kind, id, field, yours, version } = this.#asItIsNow(conflict);
    const change = { kind, id, fields: { [field]: yours }, base: { [field]: version } };
    const entry = { kind: "changes", at: new Date().toISOString(), attention: null, changes: [change] };
    await this.#outbox.resolve([key], which === "yours" ? entry : null);
    await this.#changed();
  }

  /** What a form still shows needs no second place: its refused entry and its clashes go. */
  async takeBack(key) {
    const entry = this.#find(key);
    const clashes = this.conflicts.filter((conflict) => conflict.entry === key);
    if (entry) await this.#outbox.drop([entry]);
    if (clashes.length) await this.#outbox.resolve(clashes.map((conflict) => conflict.key));
    await this.#changed();
  }

  async dropAll() {
    await this.#outbox.dropAll();
    await this.#changed();
  }

  #find(key) {
    return this.entries.find((entry) => entry.key === key);
  }

  async #changed() {
    await this.reload();
    this.onChange();
  }

  /** A clash with the other value as it is by now, if the feed has brought a newer one. */
  #asItIsNow(conflict) {
    const held = this.#store.lastSaid(conflict.kind, conflict.id);
    if (!held || held.seq <= conflict.seq) return conflict;
    const version = held.field_versions?.[conflict.field] ?? held.version;
    return { ...conflict, theirs: held.fields[conflict.field] ?? null, version };
  }

  #layOver(entry) {
    const changes = seenChanges(entry);
    const words = JSON.stringify(changes);
    if (this.#laid.get(entry.key) === words) return;
    this.#laid.set(entry.key, words);
    this.#store.expect(changes, entry.key);
  }

  #takeOff(token) {
    this.#laid.delete(token);
    this.#store.settle(token);
  }

  #tell() {
    for (const tell of this.#watchers) tell();
  }
}
