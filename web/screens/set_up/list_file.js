/** Taking a list of plantings in, as a nursery sends it: its columns chosen, looked at, then written whole or not at all. */

import { button, element, link } from "../dom.js";
import { countInWords, cultivarWords, dayInWords, trialInWords } from "../../words.js";
import { FileOnItsWay } from "../file_in/on_its_way.js";
import { previewTable } from "../file_in/preview.js";
import { LIST_FIELDS, listChoices } from "./list_choices.js";
import { noTrialScreen } from "../no_trial.js";

const PREVIEW = {
  title: "The plantings",
  region: "Plantings of the list",
  row: "row",
  fields: LIST_FIELDS,
  columns: [
    ["Planter", ({ planter }) => planter ?? ""],
    ["Cultivar", ({ genus, species, cultivar }) => cultivarWords(genus, cultivar, species)],
    ["Plants", ({ plants }) => String(plants ?? "")],
    ["Planted on", ({ planted_on: day }) => (/^\d{4}-\d\d-\d\d$/.test(day ?? "") ? dayInWords(day) : (day ?? ""))],
  ],
};

export function listFileScreen(context, { trial: trialId }) {
  const trial = context.journal.store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  const file = new FileOnItsWay(context, {
    address: "/api/planting-list/import",
    trialId,
    keeps: ["planted_on", "planter_name", "planter_kind"],
    show: (answer) => shown(file, answer, trial),
    taken: ({ written }) => {
      context.notices.say(`${countInWords(written, "planting")} created. Next: print the cards.`);
      context.go(`#/set-up/trials/${trialId}/planters`);
    },
  });
  return {
    title: "List of plantings",
    wide: true,
    nodes: [
      element("h1", {}, "Take a list of plantings in"),
      element(
        "p",
        { class: "quiet" },
        `${trialInWords(trial)}. Any CSV with a planting in each line, such as a nursery’s order list. You say what its columns hold; nothing is written before you say so.`,
      ),
      file.nodes({ label: "The list", paste: "Or paste the list", look: "Look at it", id: "rows", accept: ".csv,.tsv,.txt,text/*" }),
    ].flat(),
  };
}

function shown(file, answer, trial) {
  const goingIn = answer.counts.new ?? 0;
  const ready = !answer.counts.wrong && !answer.problems.length && goingIn > 0;
  return [
    listChoices(answer, file.choices, (choices) => file.choose(choices)),
    answer.problems.map(({ message }) => element("p", { class: "signal", role: "status" }, message)),
    !answer.problems.length && outcomeWords(answer, goingIn),
    otherYears(answer.rows, trial.fields.year),
    answer.rows.length > 0 && previewTable(answer.rows, PREVIEW),
    element(
      "div",
      { class: "action-bar" },
      link(`#/set-up/trials/${trial.id}/list`, { class: "secondary" }, "Cancel"),
      button(ready ? `Create ${countInWords(goingIn, "planting")}` : "Create them", () => file.take(), {
        class: "primary",
        id: "create-from-list",
        disabled: !ready,
      }),
    ),
  ];
}

function outcomeWords({ counts, ignored }, goingIn) {
  const here = counts["here already"] ?? 0;
  const of = [
    `${countInWords(goingIn, "planting")} would be created`,
    here && `${here} ${here === 1 ? "stands" : "stand"} in the trial already and ${here === 1 ? "is" : "are"} left out`,
  ].filter(Boolean);
  return [
    element("p", { role: "status" }, `${of.join("; ")}.`),
    ignored.length > 0 && element("p", { class: "quiet" }, `Nothing is taken from: ${ignored.join(", ")}.`),
    counts.wrong > 0 &&
      element(
        "p",
        { class: "signal", role: "status" },
        `${countInWords(counts.wrong, "line")} cannot be taken as ${counts.wrong === 1 ? "it is" : "they are"}: correct the list, or choose other columns. Nothing is written until all is well.`,
      ),
  ];
}

/** A slip in the year is easily made and moves every week and curve of a planting; what stands for years is right so. */
function otherYears(rows, year) {
  const dated = rows.filter(({ planted_on: day }) => /^\d{4}-\d\d-\d\d$/.test(day ?? ""));
  const lines = dated.filter(({ planted_on: day }) => Number(day.slice(0, 4)) !== year).map(({ line }) => line);
  if (!lines.length || year === null) return false;
  const words = `${lines.slice(0, 5).join(", ")}${lines.length > 5 ? " and more" : ""}`;
  return element("p", { role: "status" }, `Planted in another year than the trial’s, ${year}: line ${words}. Look whether that is meant.`);
}
