/** Stands in where the browser keeps nothing (a private window): the same tables, gone with the page. */

import { MIGRATIONS, StorageUnavailable, openDatabase } from "./database.js";

/** The phone's storage; where the browser keeps nothing, tables that last as long as the page. */
export async function openOrDoWithout(how) {
  try {
    return await openDatabase(how);
  } catch (problem) {
    if (problem instanceof StorageUnavailable && !problem.overtaken) return new MemoryDatabase();
    throw problem;
  }
}

class MemoryTable {
  #rows = new Map();
  #next = 1;
  #keyPath;
  #counts;

  constructor(keyPath, counts) {
    this.#keyPath = keyPath;
    this.#counts = counts;
  }

  async get(key) {
    return structuredClone(this.#rows.get(key));
  }

  async all(range = null) {
    return (await this.keys(range)).map((key) => structuredClone(this.#rows.get(key)));
  }

  async keys(range = null) {
    const keys = [...this.#rows.keys()].sort((a, b) => (a < b ? -1 : 1));
    return range ? keys.filter((key) => range.includes(key)) : keys;
  }

  async put(value, key) {
    const own = structuredClone(value);
    const under = key ?? own[this.#keyPath] ?? (this.#counts ? this.#next++ : undefined);
    if (this.#counts && this.#keyPath) own[this.#keyPath] = under;
    this.#rows.set(under, own);
    return under;
  }

  async delete(key) {
    this.#rows.delete(key);
  }

  async clear() {
    this.#rows.clear();
  }
}

export class MemoryDatabase {
  #tables = {};
  #last = Promise.resolve();

  constructor() {
    const createObjectStore = (name, { keyPath, autoIncrement } = {}) => {
      this.#tables[name] = new MemoryTable(keyPath, autoIncrement);
    };
    for (const step of MIGRATIONS) step({ createObjectStore });
  }

  get isLasting() {
    return false;
  }

  write(names, work) {
    return this.#inTurn(work);
  }

  read(names, work) {
    return this.#inTurn(work);
  }

  close() {}

  #inTurn(work) {
    const done = this.#last.then(() => work(this.#tables));
    this.#last = done.catch(() => {});
    return done;
  }
}
