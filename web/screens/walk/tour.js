/** How far this device has come on one walk: what was skipped, whether it is paused. It survives a closed browser. */

import { chosenTrial } from "../../store/queries.js";
import { localDay, overviewOfWalk, plantingsOnWalk, walkId } from "../../store/walk.js";

export class Tour {
  /** @param {Object} journal @param {string} trialId @param {string} day */
  constructor(journal, trialId, day, kept) {
    Object.assign(this, { journal, trialId, day });
    this.id = walkId(trialId, day);
    this.skipped = kept?.skipped ?? [];
    this.paused = kept?.paused ?? false;
  }

  static async of(journal, trialId, day) {
    return new Tour(journal, trialId, day, await journal.device.get(nameOf(walkId(trialId, day))));
  }

  overview() {
    return overviewOfWalk(this.journal.store, this);
  }

  skip(plantingId) {
    this.skipped = [...new Set([...this.skipped, plantingId])];
    return this.#keep();
  }

  comeBackTo(plantingId) {
    this.skipped = this.skipped.filter((id) => id !== plantingId);
    return this.#keep();
  }

  setPaused(paused) {
    this.paused = paused;
    return this.#keep();
  }

  #keep() {
    return this.journal.device.set(nameOf(this.id), { skipped: this.skipped, paused: this.paused });
  }
}

const nameOf = (walk) => `walk ${walk}`;
const TRIAL = "walk trial";

export const chooseTrialToWalk = (journal, trialId) => journal.device.set(TRIAL, trialId);

/** Trials with plantings that stand today. */
export const trialsToWalk = (store, day) =>
  store.all("trial").filter((trial) => plantingsOnWalk(store, trial.id, day).length);

/** Today's tour of the trial last walked on this device, else of the latest one that has plantings; null without one. */
export async function todaysTour(journal) {
  const day = localDay(new Date());
  const trials = trialsToWalk(journal.store, day);
  const kept = await journal.device.get(TRIAL);
  const latest = chosenTrial(journal.store);
  const trial = trials.find(({ id }) => id === kept) ?? trials.find(({ id }) => id === latest.id) ?? trials[0];
  return trial ? Tour.of(journal, trial.id, day) : null;
}
