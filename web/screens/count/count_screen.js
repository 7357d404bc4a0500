/** Counting points on one photo: the beginning, the count itself (taken up where it was left), the result. */

import { element, link, live, redraw } from "../dom.js";
import { answered } from "../../point_count/counting.js";
import { Drafts, begunCount, endedCounts, frameForPoints } from "../../store/point_counts.js";
import { describePlanting } from "../../store/queries.js";
import { dayInWords } from "../../words.js";
import { plantingLink } from "../names.js";
import { CountPart } from "./count_part.js";
import { resultPart } from "./result.js";
import { startPart } from "./start.js";
import { photoNotHere, plantingNotSaid } from "../not_here.js";

export async function countScreen(context, { id, again }) {
  const { journal } = context;
  const { store } = journal;
  const photo = store.get("photo", id);
  const known = describePlanting(store, photo?.fields.planting_id);
  if (!photo) return photoNotHere();
  if (!known) return plantingNotSaid(photo);
  const screen = new CountScreen(context, photo, known);
  await screen.begin(Boolean(again));
  return { title: `Point count of ${known.name}`, nodes: [screen.place], leave: () => screen.leave() };
}

class CountScreen {
  #part = null;
  #draft = null;
  #noted = "";

  constructor(context, photo, known) {
    Object.assign(this, { context, photo, known, drafts: new Drafts(context.journal.device) });
    this.place = element("div", { class: "point-count stack" });
    this.hidden = () => document.visibilityState === "hidden" && this.#note();
    document.addEventListener("visibilitychange", this.hidden);
  }

  async begin(isAgain) {
    const { store } = this.context.journal;
    const begun = begunCount(store, this.photo.id);
    const here = await this.drafts.of(this.photo.id);
    const draft = here && (here.at > 0 || here.id === begun?.id) ? here : begun && { id: begun.id, fields: begun.fields };
    const isEnded = draft && endedCounts(store, this.photo.id).some(({ id }) => id === draft.id);
    if (draft && !isEnded) return this.#count(draft);
    if (endedCounts(store, this.photo.id).length && !isAgain) return this.#result();
    return this.#start();
  }

  leave() {
    document.removeEventListener("visibilitychange", this.hidden);
    this.#part?.leave();
    this.#note();
  }

  #start() {
    const { store } = this.context.journal;
    const started = (draft) => {
      this.drafts.keep(this.photo.id, draft);
      this.#count(draft);
    };
    const whyNot = () => frameForPoints(store, store.get("photo", this.photo.id) ?? this.photo).why;
    const beginning = () => {
      const photo = store.get("photo", this.photo.id) ?? this.photo;
      return whyNot() ? this.#notYet(whyNot()) : startPart(this.context, photo, frameForPoints(store, photo), started);
    };
    redraw(this.place, this.#heading("Count points on this photo"), live(store, whyNot, beginning, { class: "stack" }));
  }

  #notYet(why) {
    return [element("p", {}, why), element("p", {}, link(`#/photos/${this.photo.id}`, { class: "secondary" }, "To the photo"))];
  }

  #count(draft) {
    this.#draft = draft;
    this.#noted = begunCount(this.context.journal.store, this.photo.id)?.fields.answers ?? "";
    const keep = (changed) => {
      this.#draft = changed;
      this.drafts.keep(this.photo.id, changed).catch((problem) => this.context.notices.say(problem.message));
    };
    const later = () => this.context.go(`#/photos/${this.photo.id}`);
    const end = (fields) => this.#end(fields);
    this.#part = new CountPart({ photo: this.photo, draft, name: this.known.name, keep, end, later });
    redraw(this.place, this.#part.node);
    scrollTo(0, 0);
  }

  /** @returns {Promise<string | null>} why it could not be ended */
  async #end(fields) {
    const draft = this.#draft;
    this.#draft = null;
    try {
      const refused = await this.context.journal.applyChanges([{ kind: "point_count", id: draft.id, fields }]);
      if (refused.length) throw new Error(refused.map(({ message }) => message).join(" "));
    } catch (problem) {
      this.#draft = draft;
      return `${problem.message} Your answers are kept on this device.`;
    }
    await this.drafts.forget(this.photo.id);
    this.#part.leave();
    this.#part = null;
    this.#result();
    return null;
  }

  /** What was said so far becomes a record, so that it is on the server too and other devices can go on with it. */
  #note() {
    const draft = this.#draft;
    if (!draft || draft.fields.answers === this.#noted || !answered(draft.fields.answers)) return;
    this.#noted = draft.fields.answers;
    this.context.journal
      .note([{ kind: "point_count", id: draft.id, fields: draft.fields }])
      .catch((problem) => this.context.notices.say(problem.message));
  }

  #result() {
    const deleted = () => (location.hash = `#/photos/${this.photo.id}`);
    redraw(this.place, this.#heading("Point count"), resultPart(this.context, this.photo, this.known, deleted));
    this.place.querySelector("h1").tabIndex = -1;
    this.place.querySelector("h1").focus({ preventScroll: true });
    scrollTo(0, 0);
  }

  #heading(words) {
    return element(
      "header",
      {},
      element("h1", {}, words),
      element("p", { class: "quiet" }, plantingLink(this.known), `, ${dayInWords(this.photo.fields.taken_at)}`),
    );
  }
}
