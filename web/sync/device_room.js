/** How much room this device gives the journal, and whether it promises to keep what is there. */

export class DeviceRoom {
  #storage;
  #asked = false;

  /** @param {StorageManager | undefined} storage missing on plain http and in old browsers */
  constructor(storage) {
    this.#storage = storage;
  }

  /** @returns {Promise<{used: number, quota: number, persisted: boolean} | null>} null where the browser does not say */
  async look() {
    try {
      const { usage, quota } = await this.#storage.estimate();
      return { used: usage, quota, persisted: (await this.#storage.persisted?.()) ?? false };
    } catch {
      return null;
    }
  }

  /** Asks the browser, once, not to clear the journal away when room is short. */
  async askToKeep() {
    if (this.#asked) return;
    this.#asked = true;
    try {
      await this.#storage?.persist?.();
    } catch {
      // Then it is as before; the screen says that nothing was promised.
    }
  }
}
