/** The one place that opens IndexedDB: its schema, its versions, and transactions that end on disk. */

import { Transaction } from "./transaction.js";

export const NAME = "planting-trial-journal";

/**
 * What each version of the schema adds to the one before; only ever appended to. What waits to be sent goes
 * through every step unharmed.
 * @type {((db: IDBDatabase, transaction: IDBTransaction) => void)[]}
 */
export const MIGRATIONS = [
  (db) => {
    db.createObjectStore("feed", { autoIncrement: true });
    db.createObjectStore("facts");
    db.createObjectStore("outbox", { keyPath: "key", autoIncrement: true });
    db.createObjectStore("waiting_files", { keyPath: "id" });
    db.createObjectStore("waiting_thumbs", { keyPath: "id" });
    db.createObjectStore("conflicts", { keyPath: "key" });
    db.createObjectStore("device_values");
  },
];

/** The phone has no room left. What was to be kept is not; what was kept before is whole. */
export class StorageFull extends Error {
  constructor() {
    super(
      "This device is full, so this was not kept. Everything kept before is safe. Make room (Waiting says how), then do it again.",
    );
  }
}

/** The browser lets this page keep nothing, or not any more; `overtaken` by a newer version of the app. */
export class StorageUnavailable extends Error {
  constructor(message) {
    super(message);
    this.overtaken = message === OVERTAKEN;
  }
}

const OVERTAKEN =
  "A newer version of the journal is open in another tab or window. Reload this page to go on; everything kept is safe.";
const CLOSED =
  "The browser has closed the journal’s storage. Reload this page; what was kept before is safe.";

export class Database {
  #db;
  #reopen;
  #overtaken = false;

  constructor(db, reopen) {
    this.#reopen = reopen;
    this.#take(db);
  }

  /** Whether what is written here outlives the page. */
  get isLasting() {
    return true;
  }

  /**
   * Runs `work` within one transaction: all of it is on disk when the promise resolves, or none of it.
   *
   * @template T
   * @param {string[]} names object stores
   * @param {(tables: Object<string, import("./transaction.js").Table>) => T | Promise<T>} work awaits nothing but these tables
   * @param {{durability?: "strict" | "relaxed"}} [how]
   * @returns {Promise<T>}
   */
  write(names, work, { durability = "strict" } = {}) {
    return this.#run(names, "readwrite", { durability }, work);
  }

  read(names, work) {
    return this.#run(names, "readonly", {}, work);
  }

  close() {
    this.#db.close();
  }

  async #run(names, mode, options, work) {
    try {
      return await new Transaction(await this.#begin(names, mode, options), names).run(work);
    } catch (problem) {
      if (problem?.name === "QuotaExceededError") throw new StorageFull();
      throw problem;
    }
  }

  async #begin(names, mode, options) {
    try {
      return this.#db.transaction(names, mode, options);
    } catch (problem) {
      if (problem.name !== "InvalidStateError") throw problem;
      if (this.#overtaken) throw new StorageUnavailable(OVERTAKEN);
      this.#take(await this.#reopen());
      return this.#db.transaction(names, mode, options);
    }
  }

  #take(db) {
    this.#db = db;
    // Another tab runs a newer version of the app: make way, or it could never start.
    db.onversionchange = () => {
      this.#overtaken = true;
      db.close();
    };
  }
}

/**
 * @param {{name?: string, migrations?: typeof MIGRATIONS, factory?: IDBFactory, tellBlocked?: () => void}} [how]
 *   `tellBlocked` hears when another tab still holds an older version open
 * @returns {Promise<Database>}
 * @throws {StorageUnavailable} where the browser keeps nothing (a private window, storage switched off)
 */
export async function openDatabase({
  name = NAME,
  migrations = MIGRATIONS,
  factory = globalThis.indexedDB,
  tellBlocked = () => {},
} = {}) {
  const open = () => openOnce(factory, name, migrations, tellBlocked);
  return new Database(await open(), open);
}

function openOnce(factory, name, migrations, tellBlocked) {
  return new Promise((resolve, reject) => {
    if (!factory) return reject(new StorageUnavailable(CLOSED));
    const request = factory.open(name, migrations.length);
    request.onupgradeneeded = ({ oldVersion }) => {
      for (const step of migrations.slice(oldVersion)) step(request.result, request.transaction);
    };
    request.onblocked = tellBlocked;
    request.onsuccess = () => resolve(request.result);
    request.onerror = () =>
      reject(new StorageUnavailable(request.error?.name === "VersionError" ? OVERTAKEN : CLOSED));
  });
}
