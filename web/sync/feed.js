/** The change feed: pages of records come, each kept on disk together with how far it reaches. */

import { ServerUnreachable } from "./server.js";

const PAGE = 1000;

/** Something of this device waits for a journal that is not the one which answers at this address now. */
export class AnotherJournal extends Error {
  constructor() {
    super(
      "Another journal answers at this address than the one that was used here before. What waits was made for the other, so nothing is sent; it is safe on this device.",
    );
  }
}

export class Feed {
  #store;
  #server;
  #pages;
  #arrived;
  #source = null;
  #offered = null;
  #lastRead = 0;
  #pulling = null;
  /** Whether what is here may be replaced when another journal answers: only while nothing waits. */
  mayStartAnew = true;

  /** @param {{store: Object, server: Object, pages: import("../store/feed_pages.js").FeedPages, arrived: () => void}} parts */
  constructor({ store, server, pages, arrived }) {
    this.#store = store;
    this.#server = server;
    this.#pages = pages;
    this.#arrived = arrived;
  }

  /** Reads what is on this device. @returns {Promise<number>} the cursor */
  async load() {
    await this.readOn();
    this.#pages.tidy().catch(() => {});
    return this.#store.cursor;
  }

  /** Reads what was kept since the last time it was read: another tab has received more. */
  async readOn() {
    const { pages, cursor, source, last } = await this.#pages.load(this.#lastRead);
    if (this.#source && source && source.feed !== this.#source.feed) this.#store.startAnew();
    for (const records of pages) this.#store.receive(records);
    this.#store.cursor = Math.max(this.#store.cursor, cursor);
    this.#source = source;
    this.#lastRead = last;
  }

  pull() {
    this.#pulling ??= this.#pullAll().finally(() => {
      this.#pulling = null;
    });
    return this.#pulling;
  }

  lastSyncAt() {
    return this.#pages.lastSyncAt();
  }

  async markSynced(moment) {
    await this.#pages.markSynced(moment);
    return moment;
  }

  async #startAnew() {
    await this.#pages.startAnew(this.#offered);
    this.#source = this.#offered;
    this.#store.startAnew();
  }

  async #pullAll() {
    let kept = Promise.resolve(true);
    let news = false;
    for (;;) {
      const since = this.#store.cursor;
      const page = await this.#server.getJson(`/api/changes?since=${since}&limit=${PAGE}`);
      if (!Array.isArray(page?.records) || !Number.isInteger(page.cursor)) throw new ServerUnreachable();
      if (await this.#isOfAnotherSource(page)) continue;
      this.#store.receive(page.records);
      if (!(await kept)) return;
      this.#store.cursor = page.cursor;
      // The next page is asked for while this one goes to the disk.
      if (page.records.length || this.#offered) kept = this.#keep(page, since);
      news ||= page.records.length > 0;
      if (!page.more) break;
    }
    if ((await kept) && news) this.#arrived();
  }

  /** On a full device the page is shown but not kept: it is asked for again in the next round. */
  async #keep(page, since) {
    try {
      await this.#pages.keep(page.records, page.cursor, this.#source);
      this.#offered = null;
      return true;
    } catch {
      this.#store.cursor = since;
      return false;
    }
  }

  /** A restored journal keeps its name but counts anew; another journal has another name. Either begins from nothing. */
  async #isOfAnotherSource({ journal, feed }) {
    if (!journal) return false;
    const before = this.#source;
    const offered = { journal, feed };
    if (!before) this.#source = this.#offered = offered;
    if (!before || (before.journal === journal && before.feed === feed)) return false;
    this.#offered = offered;
    if (before.journal !== journal && !this.mayStartAnew) throw new AnotherJournal();
    await this.#startAnew();
    return true;
  }
}
