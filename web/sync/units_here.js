/** The units chosen in the settings, kept on this device so that they hold without the server too. No DOM. */

import { Units } from "../units.js";

const KEPT_AS = "units";
const NAMES = ["temperature_unit", "length_unit"];

export class UnitsHere {
  #watchers = new Set();
  now = new Units();

  /** @param {import("./journal.js").Journal} journal */
  constructor(journal) {
    this.journal = journal;
  }

  /** What this device knew last; the server is asked beside that, and nothing waits for it. */
  async open() {
    this.#take((await this.journal.device.get(KEPT_AS)) ?? {});
    this.refresh().catch(() => {});
  }

  async refresh() {
    const { settings } = await this.journal.server.getJson("/api/settings");
    const chosen = Object.fromEntries(
      settings.filter(({ name }) => NAMES.includes(name)).map(({ name, value }) => [name, value]),
    );
    await this.journal.device.set(KEPT_AS, chosen);
    this.#take(chosen);
  }

  watch(tell) {
    this.#watchers.add(tell);
    return () => this.#watchers.delete(tell);
  }

  #take(chosen) {
    this.now = new Units(chosen);
    for (const tell of this.#watchers) tell();
  }
}
