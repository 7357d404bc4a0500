/** Sends what waits: edits before the photos that refer to them; one that fails never keeps the others back. */

import { ServerRefused, ServerUnreachable } from "./server.js";
import { StorageFull } from "../store/database.js";
import { nextBatch } from "./batches.js";
import { afterChanges, afterFile, afterRefusal } from "./outcomes.js";
import { waitMs } from "./backoff.js";

/** So many files in a row that the server fails on mean that it is the server, not the files. */
const FAILED_IN_A_ROW = 2;
/** Bytes that arrive changed are sent again; if they always do, a person should know. */
const MOST_DAMAGED_TRIES = 4;
const GONE = "The bytes of this are not on this device any more; it cannot be sent.";

const ADDRESS = { photo: "/api/photos", recording: "/api/recordings" };

export class Sender {
  #tries = new Map();
  #alone = new Set();
  #sendingChanges = null;
  #changesAgain = false;

  /**
   * @param {{outbox: import("../store/outbox.js").Outbox, server: import("./server.js").Server,
   *   answered: (records: Object[]) => void,
   *   settled: (outcome: import("../store/outbox.js").Outcome) => Promise<void>, progress: (part: {done?: number} | null) => void,
   *   now: () => number, random: () => number}} parts
   */
  constructor({ outbox, server, answered, settled, progress, now, random }) {
    Object.assign(this, { outbox, server, answered, settled, progress, now, random });
  }

  /** Lets everything that waits for its next try go at once. */
  forgetWaits() {
    for (const tried of this.#tries.values()) tried.notBefore = 0;
  }

  /** When the next entry may be tried again, in ms from now; null when none waits for that. */
  get nextTryInMs() {
    const times = [...this.#tries.values()].map(({ notBefore }) => notBefore - this.now());
    return times.length ? Math.max(0, Math.min(...times)) : null;
  }

  /** @throws {ServerUnreachable | ServerRefused} when nothing more can be sent for now */
  async sendAll() {
    let failed = 0;
    for (;;) {
      await this.sendChanges();
      const { entries } = await this.outbox.load();
      this.#forgetOld(entries);
      const entry = entries.find((one) => one.kind !== "changes" && !one.attention && this.#mayGo(one));
      if (!entry) return;
      const problem = await this.#sendFile(entry);
      failed = problem ? failed + 1 : 0;
      if (failed >= FAILED_IN_A_ROW) throw problem;
    }
  }

  /** Overlapping calls share one run, so that two never send the same edit; the run looks once more after the last call. */
  sendChanges() {
    this.#changesAgain = true;
    this.#sendingChanges ??= this.#sendAllChanges();
    return this.#sendingChanges;
  }

  async #sendAllChanges() {
    try {
      while (this.#changesAgain) {
        this.#changesAgain = false;
        await this.#sendBatches();
      }
    } finally {
      this.#sendingChanges = null;
    }
  }

  async #sendBatches() {
    for (;;) {
      const { entries } = await this.outbox.load();
      const batch = nextBatch(entries, {
        mayGo: (entry) => this.#mayGo(entry),
        alone: (entry) => this.#alone.has(entry.key),
      });
      if (!batch.length) return;
      await this.#sendBatch(batch);
    }
  }

  async #sendBatch(batch) {
    const changes = batch.flatMap((entry) => entry.changes);
    try {
      const outcome = afterChanges(batch, await this.#post(changes));
      if (!outcome) throw new ServerUnreachable();
      await this.#settle(batch, outcome);
    } catch (problem) {
      await this.#afterFailure(batch, problem);
    }
  }

  async #post(changes) {
    try {
      return (await this.server.postJson("/api/changes", { changes })).results;
    } catch (problem) {
      // Some were refused or clash; the answer says of each what became of it.
      if (problem instanceof ServerRefused && problem.answer?.results) return problem.answer.results;
      throw problem;
    }
  }

  /** @returns {Promise<Error | null>} what the server failed with; null when the entry is settled, one way or the other */
  async #sendFile(entry) {
    const file = await this.outbox.file(entry.id);
    if (!file) return void (await this.#settle([entry], afterRefusal([entry], new Error(GONE), false)));
    try {
      const answer = await this.server.postForm(ADDRESS[entry.kind], formOf(entry, file), entry.size);
      const outcome = afterFile(entry, answer);
      if (!outcome) throw new ServerUnreachable();
      await this.#settle([entry], outcome);
      return null;
    } catch (problem) {
      return this.#afterFailure([entry], problem);
    }
  }

  /**
   * The records are seen before the queue is settled, without a pause between: an edit made until now is still in the
   * queue and is moved up there, one made from now on rests on what was answered.
   */
  async #settle(entries, outcome) {
    this.answered(outcome.records ?? []);
    await this.#settleOnDisk(outcome);
    for (const { key } of entries) {
      this.#tries.delete(key);
      this.#alone.delete(key);
    }
    await this.settled(outcome);
    this.progress({ done: outcome.gone?.length ?? 0 });
  }

  /** A full device can still let go of what was sent; the records come again with the feed. */
  async #settleOnDisk(outcome) {
    try {
      await this.outbox.settle(outcome);
    } catch (problem) {
      if (!(problem instanceof StorageFull)) throw problem;
      await this.outbox.settle({ ...outcome, records: [] });
    }
  }

  async #afterFailure(entries, problem) {
    if (!(problem instanceof ServerRefused) || problem.status === 401 || problem.status === 429)
      throw problem;
    const damaged = problem.kind === "TransferDamaged" && this.#triesOf(entries[0]) < MOST_DAMAGED_TRIES;
    if (entries.length > 1) {
      for (const { key } of entries) this.#alone.add(key);
      return problem;
    }
    if (!problem.isPassing && !damaged) {
      await this.#settle(entries, afterRefusal(entries, problem));
      return null;
    }
    const tries = this.#triesOf(entries[0]) + 1;
    this.#tries.set(entries[0].key, { tries, notBefore: this.now() + waitMs(tries, this.random) });
    return problem;
  }

  #triesOf(entry) {
    return this.#tries.get(entry.key)?.tries ?? 0;
  }

  #mayGo(entry) {
    return (this.#tries.get(entry.key)?.notBefore ?? 0) <= this.now();
  }

  #forgetOld(entries) {
    const standing = new Set(entries.map(({ key }) => key));
    for (const key of this.#tries.keys()) if (!standing.has(key)) this.#tries.delete(key);
  }
}

function formOf(entry, { bytes, mime }) {
  const form = new FormData();
  form.append("id", entry.id);
  form.append("sha256", entry.sha256);
  for (const [name, value] of Object.entries(entry.form)) form.append(name, String(value));
  form.append(entry.kind, new Blob([bytes], { type: mime }), entry.fileName);
  return form;
}
