/** Small things that only this device knows: the rater's name, what was skipped on a walk, how opaque the last photo is. */

export class DeviceValues {
  #database;

  /** @param {import("./database.js").Database} database */
  constructor(database) {
    this.#database = database;
  }

  /** @returns {Promise<any>} undefined when never set */
  get(name) {
    return this.#database.read(["device_values"], ({ device_values }) => device_values.get(name));
  }

  async set(name, value) {
    await this.#database.write(["device_values"], ({ device_values }) => device_values.put(value, name));
  }
}
