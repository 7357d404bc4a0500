/** Taking a weather file in: opened or pasted, looked at with the server, then written whole or not at all. */

import { button, element, freshId, link, redraw } from "../dom.js";
import { ServerRefused } from "../../sync/server.js";
import { countInWords, trialInWords } from "../../words.js";
import { textOf } from "../text_file.js";
import { noTrialScreen } from "../set_up/no_trial.js";
import { choicesPart } from "./file_choices.js";
import { previewTable } from "./file_preview.js";

export function weatherFileScreen(context, { trial: trialId }) {
  const trial = context.journal.store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  return { title: "Weather file", wide: true, nodes: new WeatherFile(context, trial).nodes };
}

class WeatherFile {
  #text = "";
  #choices = {};
  /** As they stand, with what was chosen since the last answer. */
  #columns = {};
  #asked = 0;

  constructor(context, trial) {
    Object.assign(this, { context, trial });
    this.says = element("div", { class: "problem", role: "alert", tabindex: "-1", hidden: true });
    this.look = element("div", { class: "stack" });
    this.nodes = [
      element("h1", {}, "Take a weather file in"),
      element(
        "p",
        { class: "quiet" },
        `${trialInWords(trial)}. A CSV with a day in each line, or a GHCN-Daily file of a public weather station. Nothing is written before you say so.`,
      ),
      this.#ways(),
      this.says,
      this.look,
    ];
    const { year } = trial.fields;
    if (year) this.#choices = { first_day: `${year}-01-01`, last_day: `${year}-12-31` };
  }

  #ways() {
    const text = element("textarea", { id: freshId("days"), rows: 5 });
    const file = element("input", {
      type: "file",
      class: "unseen",
      accept: ".csv,.tsv,.txt,.dly,text/*",
      onchange: async () => {
        if (file.files[0]) await this.#open(await textOf(file.files[0]));
        file.value = "";
      },
    });
    return element(
      "section",
      { class: "stack" },
      element("div", { class: "ways" }, element("label", { class: "secondary pick" }, file, "Open a file")),
      element(
        "details",
        { id: "paste-days" },
        element("summary", {}, "Or paste the days"),
        element(
          "div",
          { class: "field" },
          element("label", { for: text.id }, "The days"),
          text,
          button("Look at them", () => this.#open(text.value), { id: "look-at-days" }),
        ),
      ),
    );
  }

  async #open(text) {
    if (text === null) return this.#say("This is not a text file: save the sheet as CSV and open that.");
    this.#text = text;
    const { first_day, last_day } = this.#choices;
    this.#choices = { first_day, last_day };
    await this.#ask(true);
  }

  async #choose(choices) {
    if (choices.columns) this.#columns = { ...this.#columns, ...choices.columns };
    this.#choices = { ...this.#choices, ...choices, ...(choices.columns && { columns: this.#columns }) };
    await this.#ask(true);
  }

  async #ask(dryRun) {
    this.#say("");
    const asked = ++this.#asked;
    const body = { trial_id: this.trial.id, text: this.#text, dry_run: dryRun, ...this.#choices };
    try {
      const answer = await this.context.journal.server.postJson("/api/weather/import", body);
      if (asked !== this.#asked) return;
      if (dryRun) return this.#show(answer);
      await this.context.journal.pull();
      this.context.notices.say(`${countInWords(answer.written, "day")} taken in.`);
      this.context.go(`#/set-up/trials/${this.trial.id}/weather`);
    } catch (problem) {
      if (problem instanceof ServerRefused && problem.answer?.rows) return this.#show(problem.answer);
      this.#say(problem.message);
    }
  }

  #show(answer) {
    this.#columns = answer.choices.columns ?? {};
    const { units } = this.context;
    const wrong = answer.counts.wrong;
    const goingIn = Object.entries(answer.counts)
      .filter(([name]) => !["wrong", "kept as it is", "the same already"].includes(name))
      .reduce((sum, [, count]) => sum + count, 0);
    const ready = !wrong && !answer.problems.length && goingIn > 0;
    redraw(
      this.look,
      choicesPart(answer, this.#choices, (choices) => this.#choose(choices)),
      answer.problems.map(({ message }) => element("p", { class: "signal", role: "status" }, message)),
      outcomeWords(answer, goingIn),
      answer.rows.length > 0 && previewTable(answer.rows, units.now),
      element(
        "div",
        { class: "action-bar" },
        link(`#/set-up/trials/${this.trial.id}/weather`, { class: "secondary" }, "Cancel"),
        button(ready ? `Take ${countInWords(goingIn, "day")} in` : "Take them in", () => this.#ask(false), {
          class: "primary",
          id: "take-days-in",
          disabled: !ready,
        }),
      ),
    );
  }

  #say(words) {
    this.says.hidden = !words;
    redraw(this.says, words && element("p", {}, words));
    if (words) this.says.focus();
  }
}

function outcomeWords({ layout, counts, left_out: leftOut, rows }, goingIn) {
  const of = [
    layout === "columns" ? null : layout,
    rows.length > 0 && `${countInWords(goingIn, "day")} would be written`,
    counts["replaces the forecast"] && `${counts["replaces the forecast"]} of them in place of a forecast`,
    counts.changes && `${counts.changes} of them changed`,
    counts["the same already"] && `${countInWords(counts["the same already"], "day")} the same already`,
    counts["kept as it is"] && `${countInWords(counts["kept as it is"], "day")} here with other values, kept as they are`,
    ...Object.entries(leftOut).map(([what, count]) => `left out: ${what} (${count})`),
  ].filter(Boolean);
  return [
    element("p", { role: "status" }, of.length ? `${of.join("; ")}.` : "No day would be written."),
    counts.wrong > 0 &&
      element(
        "p",
        { class: "signal", role: "status" },
        `${countInWords(counts.wrong, "line")} cannot be read as ${counts.wrong === 1 ? "it is" : "they are"}: correct the file, or choose other columns or units. Nothing is written until all is well.`,
      ),
  ];
}
