/** A new season from an old one: choices, a look at what would be made, then all of it or nothing. */

import { button, element, freshId, link, redraw } from "../dom.js";
import { form } from "../form.js";
import { ServerRefused } from "../../sync/server.js";
import { plantingsInWalkOrder } from "../../store/queries.js";
import { countInWords, dayInWords, trialInWords } from "../../words.js";
import { cultivarName } from "../names.js";
import { placeInWords } from "../walk/words.js";
import { toDoInWords } from "../care/words.js";
import { noTrialScreen } from "../no_trial.js";

/** So many refusals are said at once; more are counted. */
const FEW = 3;

const FIELDS = [
  { name: "title", label: "Title" },
  { name: "year", label: "Year", type: "whole" },
  { name: "planted_on", label: "Planted on", type: "day", help: "Empty: each on its own day of the year" },
  {
    name: "cards",
    label: "Cards",
    options: [
      ["same", "the same cards stand at the same plantings"],
      ["fresh", "new cards are made for all"],
    ],
  },
  {
    name: "remove_on",
    label: "What still stands of the old season was removed on",
    type: "day",
    help: "Needed where the same cards go on; empty leaves it standing",
  },
  { name: "plans", label: "Take the planned care along", type: "yes" },
];

export function newSeasonScreen(context, { trial: trialId }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  const which = new Which(store, plantingsInWalkOrder(store, trialId));
  const seen = element("div", { class: "stack", "aria-live": "polite" });
  const start = { title: trial.fields.title, year: trial.fields.year + 1, cards: "same", plans: true };
  const choices = form(FIELDS, start, (typed) => look(context, trial, { ...typed, plantings: which.chosen }, seen), {
    words: "Look at the new season",
    more: [link("#/set-up", { class: "secondary" }, "Cancel")],
  });
  choices.insertBefore(which.node, choices.querySelector("[data-field=cards]"));
  return {
    title: "New season",
    nodes: [
      element("h1", {}, "New season"),
      element("p", { class: "quiet" }, `From ${trialInWords(trial)}. Cultivars are used again; nothing is written before you have seen it.`),
      choices,
      seen,
    ],
  };
}

/** Which plantings go along, all at first. */
class Which {
  constructor(store, plantings) {
    this.boxes = new Map(
      plantings.map(({ id }) => [id, element("input", { type: "checkbox", id: freshId("along"), checked: true })]),
    );
    const name = (planting) => [`${placeInWords(store, planting)}: `, cultivarName(store.get("cultivar", planting.fields.cultivar_id))];
    const rows = plantings.map((planting) => {
      const box = this.boxes.get(planting.id);
      return element("div", { class: "tick" }, box, element("label", { for: box.id }, name(planting)));
    });
    const words = element("summary", {}, this.#words());
    this.node = element("details", { id: "which-plantings" }, words, element("div", {}, rows));
    this.node.addEventListener("change", () => (words.textContent = this.#words()));
  }

  get chosen() {
    return [...this.boxes].filter(([, box]) => box.checked).map(([id]) => id);
  }

  #words() {
    return `${this.chosen.length} of ${countInWords(this.boxes.size, "planting")} go along`;
  }
}

async function look(context, trial, choices, seen) {
  redraw(seen);
  redraw(seen, preview(context, trial, choices, await ask(context, trial, choices, true)));
  seen.scrollIntoView({ block: "start" });
  return [];
}

/** What was refused comes back in the same shape as what went well. */
async function ask({ journal }, trial, choices, dryRun) {
  try {
    return await journal.server.postJson(`/api/trials/${trial.id}/new-season`, { ...choices, dry_run: dryRun });
  } catch (problem) {
    if (problem instanceof ServerRefused && problem.answer?.copied) return problem.answer;
    throw problem;
  }
}

function preview(context, trial, choices, { copied, removed }) {
  const { store } = context.journal;
  const wrong = [...new Set(copied.flatMap(({ errors }) => errors.map(({ message }) => message)))];
  const of = (kind) => copied.filter((one) => one.kind === kind);
  const plans = [...new Set(of("care_plan").map(({ fields }) => toDoInWords(fields.action).toLowerCase()))];
  const write = button("Begin the season", () => begin(context, trial, choices), { class: "primary", id: "begin-season", disabled: wrong.length > 0 });
  return element(
    "section",
    { class: "stack" },
    element("h2", {}, "What would be made"),
    wrong.length > 0 &&
      element(
        "div",
        { class: "problem" },
        wrong.slice(0, FEW).map((message) => element("p", {}, message)),
        wrong.length > FEW && element("p", {}, `And ${wrong.length - FEW} more of the kind.`),
        element("p", {}, "Nothing is written so. Say when the old season was removed, or choose new cards."),
      ),
    element(
      "p",
      {},
      [
        `“${choices.title}”, ${choices.year}: ${countInWords(of("planter").length, "planter")}, ${countInWords(of("planting").length, "planting")}`,
        plans.length ? `planned care: ${plans.join(", ")}` : "no planned care",
        removed && `${countInWords(removed, "planting")} of the old season noted as removed on ${dayInWords(choices.remove_on)}`,
      ]
        .filter(Boolean)
        .join("; "),
      ".",
    ),
    element("ul", { class: "rows" }, of("planting").map((one) => plantingRow(store, one))),
    element("div", { class: "action-bar" }, write),
  );
}

function plantingRow(store, { copied_from: from, fields }) {
  const old = store.get("planting", from);
  const words = [
    fields.planted_on && `planted on ${dayInWords(fields.planted_on)}`,
    fields.plants && countInWords(fields.plants, "plant"),
    fields.card_code ?? "new card",
  ];
  return element(
    "li",
    {},
    old ? `${placeInWords(store, old)}: ` : "",
    cultivarName(store.get("cultivar", fields.cultivar_id)),
    " ",
    element("span", { class: "quiet" }, words.filter(Boolean).join(", ")),
  );
}

async function begin(context, trial, choices) {
  try {
    const made = await ask(context, trial, choices, false);
    if (!made.trial_id) return context.notices.say("Something changed meanwhile, so nothing was written: look at it again.");
    await context.journal.pull();
    context.notices.say(`“${choices.title}”, ${choices.year}, is set up.`);
    context.go(`#/set-up/trials/${made.trial_id}/planters`);
  } catch (problem) {
    context.notices.say(problem.message);
  }
}
