/** Taking a weather file in: opened or pasted, looked at with the server, then written whole or not at all. */

import { button, element, link } from "../dom.js";
import { countInWords, dayInWords, trialInWords } from "../../words.js";
import { FileOnItsWay } from "../file_in/on_its_way.js";
import { previewTable } from "../file_in/preview.js";
import { noTrialScreen } from "../no_trial.js";
import { choicesPart } from "./file_choices.js";

const NOT_WRITTEN = ["wrong", "kept as it is", "the same already"];

export function weatherFileScreen(context, { trial: trialId }) {
  const trial = context.journal.store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  const { year } = trial.fields;
  const back = `#/set-up/trials/${trialId}/weather`;
  const file = new FileOnItsWay(context, {
    address: "/api/weather/import",
    trialId,
    choices: year ? { first_day: `${year}-01-01`, last_day: `${year}-12-31` } : {},
    keeps: ["first_day", "last_day"],
    show: (answer) => shown(file, answer, context.units.now, back),
    taken: ({ written }) => {
      context.notices.say(`${countInWords(written, "day")} taken in.`);
      context.go(back);
    },
  });
  return {
    title: "Weather file",
    wide: true,
    nodes: [
      element("h1", {}, "Take a weather file in"),
      element(
        "p",
        { class: "quiet" },
        `${trialInWords(trial)}. A CSV with a day in each line, or a GHCN-Daily file of a public weather station. Nothing is written before you say so.`,
      ),
      file.nodes({ label: "The days", paste: "Or paste the days", look: "Look at them", id: "days", accept: ".csv,.tsv,.txt,.dly,text/*" }),
    ].flat(),
  };
}

function shown(file, answer, units, back) {
  const goingIn = Object.entries(answer.counts)
    .filter(([name]) => !NOT_WRITTEN.includes(name))
    .reduce((sum, [, count]) => sum + count, 0);
  const ready = !answer.counts.wrong && !answer.problems.length && goingIn > 0;
  return [
    choicesPart(answer, file.choices, (choices) => file.choose(choices)),
    answer.problems.map(({ message }) => element("p", { class: "signal", role: "status" }, message)),
    outcomeWords(answer, goingIn),
    answer.rows.length > 0 && previewTable(answer.rows, previewOf(units)),
    element(
      "div",
      { class: "action-bar" },
      link(back, { class: "secondary" }, "Cancel"),
      button(ready ? `Take ${countInWords(goingIn, "day")} in` : "Take them in", () => file.take(), {
        class: "primary",
        id: "take-days-in",
        disabled: !ready,
      }),
    ),
  ];
}

function previewOf({ temperature, rain }) {
  const number = (measure, name) => (row) => (row[name] === null ? "" : String(measure.show(row[name])));
  return {
    title: "The days",
    region: "Days of the file",
    row: "day",
    columns: [
      ["Day", ({ day }) => (day ? dayInWords(day) : "")],
      [`Low ${temperature.unit}`, number(temperature, "tmin_c")],
      [`High ${temperature.unit}`, number(temperature, "tmax_c")],
      [`Rain ${rain.unit}`, number(rain, "rain_mm")],
    ],
  };
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
