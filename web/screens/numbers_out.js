/** Take the numbers out: of one trial or all of them, as files for other programs, with what each column means. */

import { element, freshId, link, redraw } from "./dom.js";
import { chosenTrial } from "../store/queries.js";
import { trialInWords } from "../words.js";
import { chooser } from "./chooser.js";
import { problemNote } from "./problem.js";
import { noTrialYet } from "./no_trial.js";

const ALL = "all";

const FILES = [
  [
    "csv",
    "For a spreadsheet",
    "One row a photo, as CSV. Opens in spreadsheet programs; an empty cell is a number that is not known.",
    "format=csv&for=spreadsheet",
  ],
  [
    "package",
    "Data package",
    "A zip with two tables, one row a photo and one row a planting with its season, and a dictionary that says what each column means (Frictionless Data Package).",
    "format=package",
  ],
  ["json", "For other programs", "Both tables and the dictionary in one file, as JSON.", "format=json"],
];
const NAMES = { csv: "numbers.csv", package: "numbers.zip", json: "numbers.json" };

export function numbersOutScreen({ journal, go }, { trial: given }) {
  const { store, server } = journal;
  const trial = given === ALL ? null : chosenTrial(store, given);
  const heading = element("h1", {}, "Take the numbers out");
  if (!store.all("trial").length)
    return { title: "Take the numbers out", nodes: [heading, noTrialYet()] };
  const only = trial ? `&trial=${trial.id}` : "";
  return {
    title: "Take the numbers out",
    wide: true,
    nodes: [
      heading,
      element("p", { class: "quiet" }, "What was measured, with every interval and the method behind it. No picture, no place goes along."),
      whichTrial(store, trial, go),
      element("ul", { class: "rows taken-out" }, FILES.map((file) => fileRow(file, only))),
      dictionary(server, only),
    ],
  };
}

function whichTrial(store, trial, go) {
  const options = [...store.all("trial").map((one) => [one.id, trialInWords(one)]), [ALL, "All trials"]];
  const select = chooser(options, trial?.id ?? ALL, (event) => go(`#/season/${event.target.value}/numbers`));
  select.id = freshId("trial");
  return element("div", { class: "filters" }, element("div", {}, element("label", { for: select.id }, "Of"), select));
}

function fileRow([format, label, words, query], only) {
  const address = `/api/numbers?${query}${only}`;
  return element(
    "li",
    {},
    link(address, { class: "secondary", download: NAMES[format], id: `take-${format}` }, label),
    element("p", { class: "quiet" }, words),
  );
}

function dictionary(server, only) {
  const place = element("div", { class: "behind", tabindex: 0, role: "region", "aria-label": "What each column means" });
  const fill = async () => {
    try {
      const { fields, seasons } = await server.getJson(`/api/numbers?format=json${only}`);
      redraw(place, meanings("One row a photo", fields), meanings("One row a planting", seasons.fields));
    } catch (problem) {
      redraw(place, problemNote(problem, fill));
    }
  };
  const details = element(
    "details",
    { id: "dictionary", open: matchMedia("(min-width: 60rem)").matches, ontoggle: () => details.open && fill() },
    element("summary", {}, "What each column means"),
    place,
  );
  return details;
}

function meanings(caption, fields) {
  const head = ["Column", "What", "Unit"].map((name) => element("th", { scope: "col" }, name));
  const rows = fields.map(({ name, description, unit }) =>
    element(
      "tr",
      {},
      element("th", { scope: "row", class: "column-name" }, element("code", {}, name)),
      element("td", {}, description),
      element("td", {}, unit ?? ""),
    ),
  );
  return element(
    "table",
    { class: "meanings" },
    element("caption", {}, caption),
    element("thead", {}, element("tr", {}, head)),
    element("tbody", {}, rows),
  );
}
