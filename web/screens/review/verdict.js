/** Writing one verdict: the picture first, then the choices, then the text from sentences that are offered. */

import { button, element, link, live, redraw } from "../dom.js";
import { GOOD_FOR, GROW_AGAIN, NEEDS, NEXT_YEAR, draftsAddress, photosOf, reportOnCultivarAddress, verdictsToWrite } from "../../store/verdicts.js";
import { capital, cultivarInWords, trialInWords } from "../../words.js";
import { cultivarName, doubtMark } from "../names.js";
import { asOf } from "../figure.js";
import { problemNote } from "../problem.js";
import { roleNote } from "../role_note.js";
import { sayDeleted, sayWithUndo } from "../undo.js";
import { VerdictRecord } from "./verdict_record.js";
import { oneOf, someOf } from "./choices.js";
import { changedPart } from "./changed_part.js";
import { numbersPart } from "./numbers_part.js";
import { offeredPart } from "./offered_part.js";
import { leadingPicture, photoWords, picturesPart, picturesShown } from "./pictures_part.js";
import { textPart } from "./text_part.js";
import { writtenField } from "./written.js";
import { GROW_AGAIN_WORDS, NEXT_YEAR_WORDS, PLACE_WORDS } from "./words.js";
import { notHere } from "../not_here.js";

const NO_DRAFTS = { sentences: [], not_offered: [], suggestions: [], numbers: [], pictures: {}, plantings: [] };
const MEASURED = ["photo", "measurement", "care", "finding", "rating", "plant_count", "weather", "planting", "planter", "cultivar"];

export function verdictScreen(context, { trial: trialId, cultivar: cultivarId, place }) {
  const { store } = context.journal;
  const seat = verdictsToWrite(store, trialId).find((one) => one.cultivarId === cultivarId && one.place === place);
  const cultivar = store.get("cultivar", cultivarId);
  if (!seat || !cultivar) return notHere("This cultivar does not stand there in this trial", "#/review", "To the review");
  const editor = new Editor(context, { trial_id: trialId, cultivar_id: cultivarId, place }, cultivar);
  return {
    title: `Verdict on ${cultivarInWords(cultivar)}`,
    wide: true,
    nodes: editor.nodes(seat),
    leave: () => editor.leave(),
  };
}

/** Puts the parts together and draws those anew that another part has changed. */
class Editor {
  #drafts = NO_DRAFTS;
  #fields = [];

  constructor(context, about, cultivar) {
    Object.assign(this, { context, about, cultivar });
    this.verdict = new VerdictRecord(context.journal, about);
    this.status = element("p", { class: "quiet kept-line", role: "status", "aria-live": "polite" });
    this.kept = element("div", {});
  }

  nodes({ plantings }) {
    const { store } = this.context.journal;
    this.plantings = plantings;
    this.text = textPart(this.verdict, { say: this.#say, wordsOf: this.#wordsOf });
    this.#fields = [this.text];
    const drawn = (draw, kinds = ["verdict"], looks = {}) =>
      live(store, () => `${store.stamp(kinds)} ${this.#round}`, draw, looks);
    this.refreshing = store.watch((changed) => changed.has("verdict") && this.#refresh());
    const left = element(
      "div",
      { class: "verdict-side" },
      drawn(() => this.#leading(), ["verdict", "photo"]),
      drawn(() => this.#growAgain()),
      this.#written({ name: "one_line", label: "In one line", longest: 200, rows: 2 }),
      drawn(() => this.#goodFor()),
      drawn(() => this.#needs()),
      drawn(() => this.#nextYear()),
      this.#written({ name: "next_year_plants", label: "How many plants next year", longest: 4, type: "whole" }),
    );
    const right = element(
      "div",
      { class: "verdict-main" },
      drawn(() => this.#changed()),
      this.text.node,
      element(
        "section",
        { id: "offered" },
        element("h2", {}, "Sentences offered"),
        this.kept,
        drawn(() => this.#offered(), ["verdict"], { class: "offered-groups" }),
        drawn(() => numbersPart(this.#drafts.numbers, this.#wordsOf), []),
      ),
      this.#written({ name: "strengths", label: "Strengths", longest: 2000, rows: 3 }),
      this.#written({ name: "weaknesses", label: "Weaknesses", longest: 2000, rows: 3 }),
      this.#written({ name: "companions", label: "Best companions", longest: 500, rows: 2 }),
      drawn(() => this.#pictures(), ["verdict", "photo"]),
      drawn(() => this.#takeBack()),
    );
    this.#readDrafts();
    this.measured = store.watch((changed) => MEASURED.some((kind) => changed.has(kind)) && this.#readLater());
    return [this.#heading(), roleNote(this.context), element("div", { class: "verdict" }, left, right), this.status];
  }

  leave() {
    clearTimeout(this.later);
    this.gone = true;
    this.refreshing?.();
    this.measured?.();
    for (const field of this.#fields) field.leave();
  }

  /** Grows whenever the drafts were read anew, so that what shows them is drawn anew. */
  #round = 0;

  async #readDrafts() {
    const { trial_id: trial, cultivar_id: cultivar, place } = this.about;
    try {
      const { answer, keptSince } = await this.context.journal.server.getDated(draftsAddress(trial, cultivar, place));
      this.#drafts = answer;
      redraw(this.kept, asOf(keptSince));
    } catch (problem) {
      redraw(this.kept, problemNote(problem, () => this.#readDrafts()));
    }
    this.#round += 1;
    if (!this.gone) this.context.journal.store.touch(["drafts of a verdict"]);
  }

  /** Measurements come one by one: they are awaited for a moment. */
  #readLater() {
    clearTimeout(this.later);
    this.later = setTimeout(() => this.#readDrafts(), 2500);
  }

  #refresh() {
    for (const field of this.#fields) field.refresh();
  }

  #say = (words) => {
    this.status.textContent = words;
  };

  /** What a number is; of several plantings, of which planter. */
  #wordsOf = ({ key, planting_id: id }) => {
    const words = this.#drafts.numbers.find((one) => one.key === key && one.planting_id === id)?.words ?? key.replaceAll("_", " ");
    const planter = this.plantings.length > 1 && this.#drafts.plantings.find((one) => one.id === id)?.planter;
    return planter ? `${planter}: ${words}` : capital(words);
  };

  /** Notes what was said, says so, and offers the way back to what was there before. */
  #keep = async (act, words) => {
    const { journal, notices } = this.context;
    const before = { ...this.verdict.fields };
    const stood = this.verdict.record !== null;
    try {
      await act();
    } catch (problem) {
      return notices.say(problem.message);
    }
    const changed = Object.keys(this.verdict.fields).filter((name) => before[name] !== this.verdict.fields[name]);
    const fields = Object.fromEntries(changed.filter((name) => !(name in this.about)).map((name) => [name, before[name] ?? null]));
    const back = stood ? { kind: "verdict", id: this.verdict.id, fields } : { kind: "verdict", id: this.verdict.id, delete: true };
    sayWithUndo({ journal, notices }, words, [back]);
  };

  #note = (act) => act().catch((problem) => this.context.notices.say(problem.message));

  #set = (fields) => this.#note(() => this.verdict.note(fields));

  #written({ name, ...more }) {
    const field = writtenField({
      name,
      ...more,
      kept: () => this.verdict.fields[name] ?? null,
      save: (value) => this.verdict.note({ [name]: value }),
      say: this.#say,
    });
    this.#fields.push(field);
    return field.node;
  }

  #heading() {
    const { store } = this.context.journal;
    const trial = store.get("trial", this.about.trial_id);
    const places = this.plantings.map(({ fields }) => store.get("planter", fields.planter_id)?.fields.name);
    const words = [PLACE_WORDS[this.about.place], places.join(", ") || "stands nowhere any more", trial && trialInWords(trial)];
    const doubtful = this.plantings.find(({ fields }) => fields.identity === "doubtful");
    return element(
      "header",
      {},
      element("h1", {}, cultivarName(this.cultivar), doubtful && doubtMark(doubtful)),
      element("p", { class: "quiet" }, words.filter(Boolean).join(" · ")),
      element(
        "div",
        { class: "ways" },
        link(`#/review/${this.about.trial_id}`, { class: "secondary" }, "All verdicts"),
        link(reportOnCultivarAddress(this.about.trial_id, this.about.cultivar_id), { class: "secondary" }, "Report on it"),
      ),
    );
  }

  get #photos() {
    return photosOf(this.context.journal.store, this.plantings);
  }

  #whereOf = (photo) => {
    const { store } = this.context.journal;
    const planting = store.get("planting", photo.fields.planting_id);
    const planter = this.plantings.length > 1 && store.get("planter", planting?.fields.planter_id)?.fields.name;
    return photoWords(photo, planting, planter);
  };

  #leading() {
    const { best } = picturesShown(this.verdict.fields, this.#drafts.pictures, this.#photos);
    return leadingPicture(best, cultivarInWords(this.cultivar), this.#whereOf);
  }

  #growAgain() {
    return oneOf({
      title: "Would you grow it again?",
      name: "grow-again",
      options: GROW_AGAIN,
      words: GROW_AGAIN_WORDS,
      value: this.verdict.fields.grow_again ?? null,
      choose: (value) => this.#set({ grow_again: value }),
    });
  }

  #goodFor() {
    return this.#some("Good for", "good_for", GOOD_FOR);
  }

  #needs() {
    return this.#some("Needs", "needs", NEEDS);
  }

  #some(title, name, options) {
    return someOf({
      title,
      name: name.replaceAll("_", "-"),
      options,
      values: this.verdict.fields[name] ?? [],
      choose: (values) => this.#set({ [name]: values }),
      suggestions: this.#drafts.suggestions.filter(({ field }) => field === name),
    });
  }

  #nextYear() {
    return oneOf({
      title: "Next year",
      name: "next-year",
      options: NEXT_YEAR,
      words: NEXT_YEAR_WORDS,
      value: this.verdict.fields.next_year ?? null,
      choose: (value) => this.#set({ next_year: value }),
    });
  }

  #changed() {
    return this.#round && this.#drafts !== NO_DRAFTS
      ? changedPart(this.verdict, this.#drafts.numbers, this.#wordsOf, this.#keep)
      : null;
  }

  #offered() {
    return this.#drafts === NO_DRAFTS ? null : offeredPart(this.verdict, this.#drafts, this.#note, this.#keep);
  }

  #pictures() {
    const photos = this.#photos;
    const shown = picturesShown(this.verdict.fields, this.#drafts.pictures, photos);
    return picturesPart(this.verdict, shown, photos, this.#whereOf, this.#keep);
  }

  #takeBack() {
    if (!this.verdict.record) return null;
    const { journal, notices } = this.context;
    const away = async () => {
      const one = { kind: "verdict", id: this.verdict.id };
      await journal.note([{ ...one, delete: true }]);
      sayDeleted({ journal, notices }, [one], "The verdict is deleted.");
    };
    return element("div", { class: "ways" }, button("Delete this verdict", away, { id: "delete-verdict" }));
  }
}
