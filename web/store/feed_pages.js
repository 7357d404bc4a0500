/**
 * The journal's records on the phone, kept as the pages in which they came: one value a page is read back many
 * times faster than one value a record. Of several states of a record the newest counts.
 */

/** So many pages are read at start without being noticed; more are written anew as few full ones. */
const MOST_PAGES = 60;
const RECORDS_A_PAGE = 500;

export class FeedPages {
  #database;

  /** @param {import("./database.js").Database} database */
  constructor(database) {
    this.#database = database;
  }

  /** @returns {Promise<{pages: import("./record_store.js").Rec[][], cursor: number, source: {journal: string, feed: string} | null, last: number}>} */
  async load(after = 0) {
    return this.#database.read(["feed", "facts"], async ({ feed, facts }) => {
      const range = after ? IDBKeyRange.lowerBound(after, true) : null;
      const [pages, keys, cursor, source] = await Promise.all([
        feed.all(range),
        feed.keys(range),
        facts.get("cursor"),
        facts.get("source"),
      ]);
      return { pages, cursor: cursor ?? 0, source: source ?? null, last: keys.at(-1) ?? after };
    });
  }

  /** Records and the cursor move together. What is lost here with a pulled plug comes again from the server. */
  keep(records, cursor, source) {
    return this.#database.write(
      ["feed", "facts"],
      async ({ feed, facts }) => {
        if (records.length) await feed.put(records);
        // Another tab may have come further meanwhile.
        if (cursor > ((await facts.get("cursor")) ?? 0)) await facts.put(cursor, "cursor");
        if (source) await facts.put(source, "source");
      },
      { durability: "relaxed" },
    );
  }

  /** Another feed begins: what was received of the old one goes. */
  startAnew(source) {
    return this.#database.write(["feed", "facts"], async ({ feed, facts }) => {
      await feed.clear();
      await facts.put(0, "cursor");
      await facts.put(source, "source");
    });
  }

  /** @returns {Promise<string | undefined>} the moment of the last round with the server in which all went well */
  lastSyncAt() {
    return this.#database.read(["facts"], ({ facts }) => facts.get("lastSyncAt"));
  }

  markSynced(moment) {
    return this.#database.write(["facts"], ({ facts }) => facts.put(moment, "lastSyncAt"), {
      durability: "relaxed",
    });
  }

  /** Writes many small pages anew as few full ones, each record once. */
  async tidy() {
    await this.#database.write(
      ["feed"],
      async ({ feed }) => {
        if ((await feed.keys()).length <= MOST_PAGES) return;
        const newest = new Map();
        for (const record of (await feed.all()).flat()) {
          const held = newest.get(record.id);
          if (!held || held.seq <= record.seq) newest.set(record.id, record);
        }
        const records = [...newest.values()].sort((a, b) => a.seq - b.seq);
        await feed.clear();
        for (let at = 0; at < records.length; at += RECORDS_A_PAGE) {
          await feed.put(records.slice(at, at + RECORDS_A_PAGE));
        }
      },
      { durability: "relaxed" },
    );
  }
}
