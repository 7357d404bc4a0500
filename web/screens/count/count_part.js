/** One point after the other: the spot, four big buttons at the thumb, a way back; each answer is kept at once. */

import { button, element, redraw } from "../dom.js";
import { CLASSES, UNANSWERED, answered, canUndo, current, goOn, leftOutAgain, say, undo } from "../../point_count/counting.js";
import { countInWords } from "../../words.js";
import { meanings } from "./classes.js";
import { PointView } from "./point_view.js";

/** With fewer points answered a count says next to nothing. */
export const FEWEST_TO_END = 20;
const UNDO_KEYS = ["Backspace", "u", "U"];
const CANNOT_TELL_KEYS = ["0", "?"];

export class CountPart {
  #counting;
  #again = false;

  /**
   * @param {{photo: Object, draft: import("../../store/point_counts.js").Draft, name: string, keep: (draft: Object) => void,
   *   end: (fields: Object) => Promise<string | null>, later: () => void}} parts `keep` hears each answer; `end` answers why
   *   it could not be ended; `name` of the planting
   */
  constructor(parts) {
    Object.assign(this, parts);
    const { answers, polygon } = parts.draft.fields;
    this.#counting = goOn(answers, parts.draft.at);
    this.missing = this.#missingPicture();
    this.view = new PointView(parts.photo, polygon, (isMissing) => (this.missing.hidden = !isMissing));
    this.node = element("div", { class: "counting" });
    this.keys = (event) => this.#key(event);
    addEventListener("keydown", this.keys);
    this.#build();
  }

  leave() {
    removeEventListener("keydown", this.keys);
    this.view.leave();
  }

  #build() {
    this.head = element("h1", { class: "which" });
    this.last = element("p", { class: "quiet", role: "status" });
    this.progress = element("progress", { max: this.#counting.answers.length, "aria-label": "Points gone through" });
    this.undoButton = button("Undo", () => this.#undo(), { id: "undo" });
    this.cannotTell = button("Cannot tell", () => this.#say(UNANSWERED), { id: "cannot-tell" });
    this.stop = button("Stop", () => this.#showEnd(), { id: "stop" });
    const classes = CLASSES.map(({ letter, word }, index) =>
      button([word, element("kbd", { "aria-hidden": "true" }, String(index + 1))], () => this.#say(letter), { id: `say-${letter}` }),
    );
    this.top = element(
      "div",
      { class: "count-head" },
      this.view.overview,
      element("div", { class: "count-words" }, this.head, this.last),
      this.stop,
    );
    this.body = [
      this.top,
      this.progress,
      this.missing,
      this.view.node,
      element("details", { id: "meanings" }, element("summary", {}, "What counts as what"), meanings()),
      element(
        "div",
        { class: "action-bar count-bar" },
        element("div", { class: "said" }, classes),
        element("div", { class: "unsaid" }, this.undoButton, this.cannotTell),
      ),
    ];
    this.#show();
  }

  #missingPicture() {
    const again = button("Try again", () => this.view.load());
    const words =
      "The picture of this photo is not on this device, and the journal cannot be reached. Your answers so far are safe: go on when there is a signal.";
    return element("div", { class: "problem", role: "alert", hidden: true }, element("p", {}, words), again);
  }

  #show() {
    const index = current(this.#counting);
    if (index === null) return this.#showEnd();
    const { answers, round, at } = this.#counting;
    const which = this.#again ? `Left out, ${at + 1} of ${round.length}` : `Point ${index + 1} of ${answers.length}`;
    this.head.textContent = which;
    this.last.textContent = at ? `Before: ${wordOf(answers[round[at - 1]])}` : this.name;
    this.progress.value = this.#again ? answered(answers) : at;
    this.undoButton.disabled = !canUndo(this.#counting);
    this.view.show(this.draft.fields.points[index], `${which}, in the middle of the ring`);
    if (this.node.firstChild !== this.top) redraw(this.node, this.body);
  }

  #say(letter) {
    if (current(this.#counting) === null) return;
    this.#take(say(this.#counting, letter));
  }

  #undo() {
    this.#take(undo(this.#counting));
  }

  #take(counting) {
    this.#counting = counting;
    this.draft = { ...this.draft, fields: { ...this.draft.fields, answers: counting.answers }, at: this.#again ? counting.answers.length : counting.at };
    this.keep(this.draft);
    this.#show();
  }

  #key(event) {
    const isElsewhere = this.node.firstChild !== this.top || event.target.closest?.("input, textarea, select, dialog");
    if (isElsewhere || event.altKey || event.ctrlKey || event.metaKey || event.repeat) return;
    const told = CLASSES[Number(event.key) - 1]?.letter ?? (CANNOT_TELL_KEYS.includes(event.key) ? UNANSWERED : null);
    const isUndo = UNDO_KEYS.includes(event.key);
    if (!told && !isUndo) return;
    event.preventDefault();
    if (told) this.#say(told);
    else if (canUndo(this.#counting)) this.#undo();
  }

  /** After the last point, or when a person stops: once the method's answer is seen, nothing can be altered any more. */
  #showEnd() {
    const { answers } = this.#counting;
    const isThrough = current(this.#counting) === null;
    const gone = this.#goneThrough();
    const done = answered(answers.slice(0, gone));
    const leftOut = gone - done;
    const problem = element("p", { class: "field-problem", role: "alert" });
    const end = async (event) => {
      event.target.disabled = true;
      problem.textContent = (await this.end({ ...this.draft.fields, answers: answers.slice(0, gone), points: this.draft.fields.points.slice(0, gone), ended: true })) ?? "";
      event.target.disabled = false;
    };
    const mayEnd = done >= FEWEST_TO_END;
    const endButton = button(isThrough ? "End and see the result" : `End with ${countInWords(done, "point")}`, end, { id: "end-count", class: "primary" });
    const onward = () => this.#show();
    const back = () => this.#undo();
    redraw(
      this.node,
      element("h1", {}, isThrough ? "All points are gone through" : "Stopped"),
      element("p", {}, `${countInWords(done, "point")} answered${leftOut ? `, ${leftOut} left out because they could not be told` : ""}.`),
      element("p", { class: "quiet" }, "What the method says comes next. After that this count stays as it is."),
      !mayEnd && element("p", {}, `It takes ${FEWEST_TO_END} answered points to end a count; go on now or later.`),
      !isThrough && mayEnd && element("p", { class: "quiet" }, "As the points come in random order, fewer are fair as well; the interval is wider."),
      problem,
      element(
        "div",
        { class: "action-bar" },
        element(
          "div",
          { class: "ways" },
          isThrough ? button("Undo the last", back, { id: "undo" }) : button("Go on counting", onward, { id: "go-on", class: mayEnd ? "" : "strong" }),
          leftOut > 0 && button(`Look at the ${leftOut} left out`, () => this.#lookAgain(), { id: "left-out" }),
          !isThrough && button("Go on later", () => this.later(), { id: "later" }),
        ),
        mayEnd && endButton,
      ),
    );
    this.node.querySelector("h1").tabIndex = -1;
    this.node.querySelector("h1").focus({ preventScroll: true });
  }

  /** How many points were come to: the rest of a stopped count was never looked at, which is not "could not be told". */
  #goneThrough() {
    const { answers, at } = this.#counting;
    return this.#again ? answers.length : at;
  }

  #lookAgain() {
    const gone = this.#goneThrough();
    this.#again = true;
    const { answers } = this.#counting;
    const cut = { ...this.draft.fields, answers: answers.slice(0, gone), points: this.draft.fields.points.slice(0, gone) };
    this.draft = { ...this.draft, fields: cut, at: gone };
    this.#counting = leftOutAgain({ answers: cut.answers });
    this.progress.max = gone;
    this.#show();
  }
}

const wordOf = (letter) => CLASSES.find((one) => one.letter === letter)?.word.toLowerCase() ?? "left out";
