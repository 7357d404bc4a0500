/** Entering some twenty plantings in a few minutes: paste a list or type into the table, see what is wrong, create all. */

import { element, freshId, link, redraw } from "../dom.js";
import { ServerRefused } from "../../sync/server.js";
import { countInWords, trialInWords } from "../../words.js";
import { EntryTable, COLUMNS } from "./entry_table.js";
import { EXPOSURES } from "./fields.js";
import { noTrialScreen } from "../no_trial.js";

export function quickEntryScreen(context, { trial: trialId }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  return { title: "Enter plantings", wide: true, nodes: new QuickEntry(context, trial).nodes };
}

class QuickEntry {
  constructor(context, trial) {
    Object.assign(this, { context, trial });
    this.table = new EntryTable((text) => this.#paste(text));
    this.says = element("div", { class: "problem", role: "alert", tabindex: "-1", hidden: true });
    this.day = element("input", { type: "date", id: freshId("planted-on") });
    this.create = element(
      "button",
      { type: "submit", class: "primary", id: "create-plantings" },
      "Create the plantings",
    );
    this.nodes = [
      element("h1", {}, "Enter plantings"),
      element(
        "p",
        { class: "quiet" },
        `${trialInWords(trial)}. In walking order, one planting a row. Planters and cultivars that are not there yet are made.`,
      ),
      element("p", {}, link(`#/set-up/trials/${trial.id}/list/file`, {}, "Take an order list or another CSV file in")),
      this.#pasteBox(),
      element(
        "form",
        { novalidate: true, onsubmit: (event) => this.#submit(event) },
        this.#dayField(),
        this.table.node,
        this.says,
        element("div", { class: "action-bar" }, this.create),
      ),
    ];
  }

  #dayField() {
    return element(
      "div",
      { class: "field" },
      element("label", { for: this.day.id }, "Planted on, where a row does not say"),
      this.day,
    );
  }

  #pasteBox() {
    const text = element("textarea", { id: freshId("list"), rows: 5 });
    const help = element(
      "p",
      { class: "help" },
      `Columns: ${COLUMNS.map(({ label }) => label.toLowerCase()).join(", ")}. From a spreadsheet, or separated by semicolons or commas. ` +
        `Exposure is one of: ${EXPOSURES.join(", ")}.`,
    );
    const put = element(
      "button",
      {
        type: "button",
        id: "put-list",
        onclick: async () => (await this.#paste(text.value)) && (text.value = ""),
      },
      "Put it into the table",
    );
    return element(
      "details",
      { id: "paste-list" },
      element("summary", {}, "Paste a list"),
      element(
        "div",
        { class: "field" },
        element("label", { for: text.id }, "The list"),
        help,
        text,
        put,
      ),
    );
  }

  /** The server reads the list, so that pasted and typed rows go the same way. */
  async #paste(text) {
    const answer = await this.#ask(text, true);
    if (answer) this.table.fill(answer.rows);
    return Boolean(answer);
  }

  async #submit(event) {
    event.preventDefault();
    const text = this.table.text();
    if (!text) return this.#say("Nothing to create yet: fill in the first row, or paste a list.");
    this.create.disabled = true;
    const answer = await this.#ask(text, false);
    this.create.disabled = false;
    if (!answer) return;
    if (hasErrors(answer.rows)) return this.#sayErrors(answer.rows);
    await this.context.journal.pull();
    this.context.notices.say(
      `${countInWords(this.table.filled, "planting")} created. Next: print the cards.`,
    );
    this.context.go(`#/set-up/trials/${this.trial.id}/planters`);
  }

  async #ask(text, dryRun) {
    this.#say("");
    const body = { trial_id: this.trial.id, text, planted_on: this.day.value || null, dry_run: dryRun };
    try {
      return await this.context.journal.server.postJson("/api/planting-list", body);
    } catch (problem) {
      const rows =
        problem instanceof ServerRefused && (problem.answer?.rows ?? problem.answer?.error?.details?.rows);
      if (rows) return { rows };
      this.#say(problem.message);
      return null;
    }
  }

  #sayErrors(rows) {
    const wrong = rows.filter((row) => row.errors?.length).length;
    this.#say(
      `Nothing was created: ${countInWords(wrong, "row")} ${wrong === 1 ? "wants" : "want"} a correction.`,
    );
    this.table.showErrors(rows);
  }

  #say(words) {
    this.says.hidden = !words;
    redraw(this.says, words && element("p", {}, words));
    if (words) this.says.focus();
  }
}

const hasErrors = (rows) => (rows ?? []).some((row) => row.errors?.length);
