/** One visit: what is noted at one planting on one walk. The records are made with the first thing noted, not by looking. */

import { localDay, visitId, walkId } from "../../store/walk.js";

export class Visit {
  /** @param {Object} journal @param {Object} planting record @param {string} day of the walk */
  constructor(journal, planting, day = localDay(new Date())) {
    this.journal = journal;
    this.store = journal.store;
    this.day = day;
    this.plantingId = planting.id;
    this.trialId = planting.fields.trial_id;
    this.walkId = walkId(this.trialId, day);
    this.id = visitId(this.walkId, planting.id);
  }

  get record() {
    return this.store.get("visit", this.id);
  }

  get planting() {
    return this.store.get("planting", this.plantingId);
  }

  /** Records of one kind that belong to this visit. */
  all(kind) {
    return this.store.all(kind).filter(({ fields }) => fields.visit_id === this.id);
  }

  /** Changes that belong to this visit, kept on the phone; the visit itself is made with the first of them. */
  note(changes, visitFields = {}) {
    return this.journal.note([...this.#beginning(visitFields), ...changes]);
  }

  setDone(done) {
    return this.note([], { done });
  }

  async addPhoto(photo) {
    if (!this.record) await this.note([]);
    return this.journal.addPhoto({ ...photo, visitId: this.id, plantingId: this.plantingId });
  }

  async addRecording(recording) {
    if (!this.record) await this.note([]);
    return this.journal.addRecording({ ...recording, visitId: this.id, plantingId: this.plantingId });
  }

  #beginning(visitFields) {
    const changes = walkBegun(this.store, this.trialId, this.day);
    const { walkId: walk_id, plantingId: planting_id, trialId: trial_id, day: visited_on } = this;
    const own = this.record ? {} : { trial_id, walk_id, planting_id, visited_on };
    const fields = { ...own, ...visitFields };
    if (Object.keys(fields).length) changes.push({ kind: "visit", id: this.id, fields });
    return changes;
  }
}

/** The change that makes the day's walk, unless it is there: on two phones it is the same one. */
export function walkBegun(store, trialId, day) {
  const id = walkId(trialId, day);
  if (store.get("walk", id)) return [];
  return [{ kind: "walk", id, fields: { trial_id: trialId, walked_on: day } }];
}
