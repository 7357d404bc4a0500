/**
 * A file of a table on its way in: opened or pasted, looked at with the server, then written whole or not at all.
 *
 * @typedef {{label: string, paste: string, look: string, id: string, accept: string}} Wording of the ways to give it
 */

import { button, element, freshId, redraw } from "../dom.js";
import { ServerRefused } from "../../sync/server.js";
import { textOf } from "../text_file.js";

export class FileOnItsWay {
  #text = "";
  /** As they stand, with what was chosen since the last answer. */
  #columns = {};
  #asked = 0;

  /**
   * @param {{journal: Object}} context
   * @param {{address: string, trialId: string, choices?: Object, keeps?: string[], show: (answer: Object) => any[],
   *   taken: (answer: Object) => void}} what `keeps`: the choices that stay for another file
   */
  constructor(context, { address, trialId, choices = {}, keeps = [], show, taken }) {
    Object.assign(this, { context, address, trialId, keeps, show, taken });
    /** What a person chose so far. */
    this.choices = choices;
    this.says = element("div", { class: "problem", role: "alert", tabindex: "-1", hidden: true });
    this.look = element("div", { class: "stack" });
  }

  /** The ways to give it, with what is seen of it below. @param {Wording} wording */
  nodes(wording) {
    return [this.#ways(wording), this.says, this.look];
  }

  /** Looks again with these choices; single columns are added to those that stand. */
  async choose(choices) {
    if (choices.columns) this.#columns = { ...this.#columns, ...choices.columns };
    this.choices = { ...this.choices, ...choices, ...(choices.columns && { columns: this.#columns }) };
    await this.#ask(true);
  }

  /** Writes it. */
  take() {
    return this.#ask(false);
  }

  #ways({ label, paste, look, id, accept }) {
    const text = element("textarea", { id: freshId(id), rows: 5 });
    const file = element("input", {
      type: "file",
      class: "unseen",
      accept,
      onchange: async () => {
        if (file.files[0]) await this.#open(await textOf(file.files[0]), file.files[0].name);
        file.value = "";
      },
    });
    return element(
      "section",
      { class: "stack" },
      element("div", { class: "ways" }, element("label", { class: "secondary pick" }, file, "Open a file")),
      element(
        "details",
        { id: `paste-${id}` },
        element("summary", {}, paste),
        element(
          "div",
          { class: "field" },
          element("label", { for: text.id }, label),
          text,
          button(look, () => this.#open(text.value), { id: `look-at-${id}` }),
        ),
      ),
    );
  }

  async #open(text, name = "This") {
    redraw(this.look, element("p", { class: "quiet", role: "status" }, "Reading …"));
    await this.#read(text, name);
    if (!this.says.hidden) redraw(this.look);
  }

  async #read(text, name) {
    if (text === null) return this.say(`${name} is not a text file: save the sheet as CSV and open that.`);
    this.#text = text;
    this.choices = Object.fromEntries(this.keeps.map((choice) => [choice, this.choices[choice]]));
    await this.#ask(true);
  }

  async #ask(dryRun) {
    this.say("");
    const asked = ++this.#asked;
    const body = { trial_id: this.trialId, text: this.#text, dry_run: dryRun, ...this.choices };
    try {
      const answer = await this.context.journal.server.postJson(this.address, body);
      if (asked !== this.#asked) return;
      if (dryRun) return this.#shown(answer);
      await this.context.journal.pull();
      this.taken(answer);
    } catch (problem) {
      if (problem instanceof ServerRefused && problem.answer?.rows) return this.#shown(problem.answer);
      this.say(problem.message);
    }
  }

  #shown(answer) {
    this.#columns = answer.choices.columns ?? {};
    redraw(this.look, this.show(answer));
  }

  say(words) {
    this.says.hidden = !words;
    redraw(this.says, words && element("p", {}, words));
    if (words) this.says.focus();
  }
}
