/** One transaction of IndexedDB as promises. */

const answered = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** One object store within a transaction. */
export class Table {
  #store;

  constructor(store) {
    this.#store = store;
  }

  get(key) {
    return answered(this.#store.get(key));
  }

  /** @param {IDBKeyRange | null} [range] */
  all(range = null) {
    return answered(this.#store.getAll(range));
  }

  keys(range = null) {
    return answered(this.#store.getAllKeys(range));
  }

  /** @returns {Promise<any>} the key it was put under */
  put(value, key) {
    return answered(this.#store.put(value, key));
  }

  delete(key) {
    return answered(this.#store.delete(key));
  }

  clear() {
    return answered(this.#store.clear());
  }
}

export class Transaction {
  /** @param {IDBTransaction} transaction @param {string[]} names */
  constructor(transaction, names) {
    this.transaction = transaction;
    this.tables = Object.fromEntries(names.map((name) => [name, new Table(transaction.objectStore(name))]));
  }

  /** Resolves once everything is committed; rejects, with nothing written, when any of it fails. */
  async run(work) {
    const { transaction } = this;
    const ended = new Promise((resolve, reject) => {
      transaction.oncomplete = () => resolve();
      transaction.onabort = () => reject(transaction.error ?? new DOMException("aborted", "AbortError"));
    });
    ended.catch(() => {});
    let result;
    try {
      result = await work(this.tables);
    } catch (problem) {
      this.#abort();
      await ended.catch(() => {});
      throw transaction.error ?? problem;
    }
    await ended;
    return result;
  }

  #abort() {
    try {
      this.transaction.abort();
    } catch {
      // It has ended by itself: there is nothing left to undo.
    }
  }
}
