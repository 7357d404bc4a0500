/**
 * What waits to be sent, on the phone's disk: entries in the order in which they were made, the bytes of photos and
 * recordings, and edits that clash with another person's until someone chooses.
 *
 * @typedef {{message: string, canRetry: boolean, problems: {id: string, field: string | null, message: string}[]}} Attention
 * @typedef {{key: number, kind: "changes", at: string, attention: Attention | null,
 *   changes: import("./record_store.js").Change[]}} ChangesEntry
 * @typedef {{key: number, kind: "photo" | "recording", at: string, attention: Attention | null, id: string,
 *   sha256: string, size: number, mime: string, fileName: string, form: Object}} FileEntry
 * @typedef {ChangesEntry | FileEntry} Entry
 * @typedef {{key: string, entry: number, kind: string, id: string, field: string, yours: any, theirs: any,
 *   version: number, seq: number}} Conflict
 * @typedef {{gone?: number[], changed?: Entry[], conflicts?: Conflict[], records?: import("./record_store.js").Rec[],
 *   later?: (entry: Entry) => Entry}} Outcome what becomes of entries after an answer; `later` adapts those that still wait
 */

const TABLES = ["outbox", "waiting_files", "waiting_thumbs", "conflicts", "feed"];

export class Outbox {
  #database;

  /** @param {import("./database.js").Database} database */
  constructor(database) {
    this.#database = database;
  }

  /** @returns {Promise<{entries: Entry[], conflicts: Conflict[]}>} */
  load() {
    return this.#database.read(["outbox", "conflicts"], async ({ outbox, conflicts }) => ({
      entries: await outbox.all(),
      conflicts: await conflicts.all(),
    }));
  }

  /**
   * Keeps an entry, with its bytes where it has any; on disk when resolved.
   *
   * @param {Omit<Entry, "key">} entry @param {{bytes: ArrayBuffer, thumb?: ArrayBuffer} | null} [file]
   * @returns {Promise<Entry>} with its key
   */
  async add(entry, file = null) {
    const key = await this.#database.write(TABLES, async ({ outbox, waiting_files, waiting_thumbs }) => {
      if (file) await waiting_files.put({ id: entry.id, bytes: file.bytes, mime: entry.mime });
      if (file?.thumb) await waiting_thumbs.put({ id: entry.id, bytes: file.thumb });
      return outbox.put(entry);
    });
    return { ...entry, key };
  }

  /** @returns {Promise<{bytes: ArrayBuffer, mime: string} | undefined>} */
  file(id) {
    return this.#database.read(["waiting_files"], ({ waiting_files }) => waiting_files.get(id));
  }

  /** @returns {Promise<{bytes: ArrayBuffer} | undefined>} */
  thumb(id) {
    return this.#database.read(["waiting_thumbs"], ({ waiting_thumbs }) => waiting_thumbs.get(id));
  }

  /**
   * Takes in what became of entries, all at once. An entry that a person threw away meanwhile stays away.
   *
   * @param {Outcome} outcome
   */
  settle({ gone = [], changed = [], conflicts = [], records = [], later = (entry) => entry }) {
    return this.#database.write(TABLES, async (tables) => {
      for (const key of gone) await forget(tables, await tables.outbox.get(key));
      const standing = new Map((await tables.outbox.all()).map((entry) => [entry.key, entry]));
      for (const entry of changed)
        if (standing.has(entry.key)) standing.set(entry.key, { ...entry, moved: true });
      for (const entry of standing.values()) {
        const after = later(entry);
        if (after === entry && !entry.moved) continue;
        const { moved: _, ...plain } = after;
        await tables.outbox.put(plain);
      }
      for (const conflict of conflicts) await tables.conflicts.put(conflict);
      if (records.length) await tables.feed.put(records);
    });
  }

  /** A person threw entries away: with what else was noted of those photos and recordings. @param {Entry[]} entries */
  drop(entries) {
    return this.#database.write(TABLES, async (tables) => {
      for (const entry of entries) await forget(tables, entry);
    });
  }

  /** The person has chosen: the conflict goes, and `entry`, where there is one, takes its place. */
  resolve(conflictKeys, entry = null) {
    return this.#database.write(["outbox", "conflicts"], async ({ outbox, conflicts }) => {
      for (const key of conflictKeys) await conflicts.delete(key);
      return entry ? outbox.put(entry) : null;
    });
  }

  /** Everything that waits goes; only ever asked for by a person. */
  dropAll() {
    return this.#database.write(TABLES, async ({ outbox, waiting_files, waiting_thumbs, conflicts }) => {
      for (const table of [outbox, waiting_files, waiting_thumbs, conflicts]) await table.clear();
    });
  }
}

async function forget({ outbox, waiting_files, waiting_thumbs }, entry) {
  if (!entry) return;
  await outbox.delete(entry.key);
  if (entry.kind === "changes") return;
  await waiting_files.delete(entry.id);
  await waiting_thumbs.delete(entry.id);
}
