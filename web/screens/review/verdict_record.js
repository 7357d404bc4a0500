/** One verdict as it is written: what it says now, and ways to note what was said, on this device first. No DOM. */

import { TEXTS, verdictId, withKept, withNewNumber } from "../../store/verdicts.js";
import { stillQuoted } from "../../store/quoted_text.js";

/** A new verdict says so of every field, so that nothing of a deleted one shows through. */
const NOTHING_SAID = {
  grow_again: null, good_for: [], needs: [], ...Object.fromEntries(TEXTS.map((name) => [name, null])), next_year: null,
  next_year_plants: null, quoted: [], pictures: null,
};

export class VerdictRecord {
  /** @param {import("../../sync/journal.js").Journal} journal @param {{trial_id: string, cultivar_id: string, place: string}} about */
  constructor(journal, about) {
    Object.assign(this, { journal, about });
    this.id = verdictId(about.trial_id, about.cultivar_id, about.place);
  }

  get record() {
    return this.journal.store.get("verdict", this.id);
  }

  get fields() {
    return this.record?.fields ?? {};
  }

  get quoted() {
    return this.fields.quoted ?? [];
  }

  /** @returns {Object<string, string | null>} by field */
  get texts() {
    return Object.fromEntries(TEXTS.map((name) => [name, this.fields[name] ?? null]));
  }

  /** Numbers that no longer stand in any text are let go of. @param {Object} fields */
  async note(fields) {
    const all = { ...(this.record ? {} : { ...NOTHING_SAID, ...this.about }), ...fields, ...this.#pruned(fields) };
    if (!this.record && this.#wasThere) await this.journal.note([{ kind: "verdict", id: this.id, restore: true }]);
    await this.journal.note([{ kind: "verdict", id: this.id, fields: all }]);
  }

  /** One that was deleted has to be put back before it can be written in. */
  get #wasThere() {
    const { store, queue } = this.journal;
    const isOwn = ({ changes }) => changes?.some(({ id }) => id === this.id);
    return store.lastSaid("verdict", this.id) !== null || queue.entries.some(isOwn);
  }

  /** Puts words at the end of the text, with the numbers in them. */
  putIn(words, entries) {
    const text = this.fields.text ?? "";
    const between = !text || /\s$/.test(text) ? "" : " ";
    return this.note({ text: text + between + words, quoted: [...this.quoted, ...entries] });
  }

  /** Takes words out of the text again, with the space before or after them. */
  takeOut(words) {
    const text = this.fields.text ?? "";
    const at = text.indexOf(words);
    if (at < 0) return Promise.resolve();
    const before = text.slice(0, at);
    const after = text.slice(at + words.length);
    const left = before.endsWith(" ") ? before.slice(0, -1) + after : before + after.replace(/^ /, "");
    return this.note({ text: left || null });
  }

  /** @param {{place: number, number: Object}[]} renewed places in the list of quoted numbers, each with its number as it is now */
  putNewNumbers(renewed) {
    let { texts, quoted } = this;
    const changed = {};
    for (const { place, number } of renewed) {
      const step = withNewNumber(texts, quoted, place, number);
      Object.assign(changed, step.texts);
      texts = { ...texts, ...step.texts };
      quoted = step.quoted;
    }
    return this.note({ ...changed, quoted });
  }

  /** @param {{place: number, now: string | null}[]} changed wordings that a person has seen */
  keepWhatIsWritten(changed) {
    return this.note({ quoted: changed.reduce(withKept, this.quoted) });
  }

  #pruned(fields) {
    if (!("quoted" in fields) && !TEXTS.some((name) => name in fields)) return {};
    const before = fields.quoted ?? this.quoted;
    const after = stillQuoted(Object.values({ ...this.texts, ...pick(fields, TEXTS) }), before);
    return after.length === before.length && !("quoted" in fields) ? {} : { quoted: after };
  }
}

const pick = (fields, names) => Object.fromEntries(names.filter((name) => name in fields).map((name) => [name, fields[name]]));
