/** The journal as screens know it: records to read, one way to change them. No DOM. */

import { ServerRefused } from "./server.js";

const PAGE = 500;

export class Journal {
  #pulling = null;
  #lastSent = Promise.resolve();

  /** @param {import("../store/record_store.js").RecordStore} store @param {import("./server.js").Server} server */
  constructor(store, server) {
    this.store = store;
    this.server = server;
  }

  /** Brings every record that changed since the last time. Calls that overlap share one round. */
  pull() {
    this.#pulling ??= this.#pullAll().finally(() => {
      this.#pulling = null;
    });
    return this.#pulling;
  }

  async #pullAll() {
    let more = true;
    while (more) {
      const page = await this.server.getJson(`/api/changes?since=${this.store.cursor}&limit=${PAGE}`);
      this.store.receive(page.records);
      this.store.cursor = page.cursor;
      more = page.more;
    }
  }

  /**
   * Applies changes: seen at once, sent to the server, and put back when refused.
   *
   * @param {import("../store/record_store.js").Change[]} changes
   * @returns {Promise<{id: string, field: string | null, message: string}[]>} what was refused; empty when all went well
   */
  async applyChanges(changes) {
    const token = this.store.expect(changes);
    try {
      const results = await this.#inTurn(() => this.#postAll(changes));
      this.store.settle(token, results.map((result) => result.record).filter(Boolean));
      return results.flatMap(problemsOf);
    } catch (problem) {
      this.store.settle(token);
      throw problem;
    }
  }

  /** Lets photos whose measuring failed be measured once more. */
  async measureAgain(photoIds) {
    await this.server.postJson("/api/measure-again", { photo_ids: photoIds });
    await this.pull();
  }

  /** One after the other, so that an edit rests on what became of the edit before it. */
  #inTurn(send) {
    const sent = this.#lastSent.then(send, send);
    this.#lastSent = sent;
    return sent;
  }

  #withBase(change) {
    const held = this.store.lastSaid(change.kind, change.id);
    if (!held || !change.fields) return change;
    const base = Object.fromEntries(Object.keys(change.fields).map((field) => [field, held.version]));
    return { ...change, base };
  }

  async #postAll(changes) {
    const results = [];
    for (let at = 0; at < changes.length; at += PAGE) {
      const some = changes.slice(at, at + PAGE).map((change) => this.#withBase(change));
      results.push(...(await this.#post(some)));
    }
    return results;
  }

  async #post(changes) {
    try {
      return (await this.server.postJson("/api/changes", { changes })).results;
    } catch (problem) {
      if (problem instanceof ServerRefused && problem.answer?.results) return problem.answer.results;
      throw problem;
    }
  }
}

function problemsOf(result) {
  if (result.status === "conflict") {
    return result.conflicts.map(({ field, theirs }) => ({
      id: result.id,
      field,
      message: `Someone else changed this to “${theirs ?? "nothing"}” meanwhile. Save again to keep yours.`,
    }));
  }
  return (result.errors ?? []).map((error) => ({ id: result.id, ...error }));
}
