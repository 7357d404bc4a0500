/** Making a report: which one, in which form, with what in it; opened in a new tab or saved. */

import { element, freshId, link, live } from "../dom.js";
import { chosenTrial, plantingsInWalkOrder } from "../../store/queries.js";
import { cultivarInWords, trialInWords } from "../../words.js";
import { chooser } from "../chooser.js";
import { noTrialYet } from "../no_trial.js";

const REPORTS = [
  ["trial", "The whole trial"],
  ["cultivar", "One cultivar, on a page"],
  ["two-trials", "Two trials side by side"],
  ["order-list", "Order list for next year"],
];

const HOLDS = {
  trial: "All cultivars ranked, their pictures and verdicts, the season, method and caveats.",
  cultivar: "Its verdict, pictures, curves, colours and numbers, and how sure they are.",
  "two-trials": "What both grew, with the differences and whether they are more than measuring error.",
  "order-list": "More, again, try elsewhere, drop: from the verdicts, with the plants wanted.",
};

const FORMATS = [
  ["html", "One HTML file, for the browser"],
  ["pdf", "PDF, for paper"],
  ["markdown", "Markdown with pictures (zip)"],
];

const PAPERS = [
  ["", "as in Settings"],
  ["a4", "A4"],
  ["letter", "Letter"],
];

const TICKS = [
  ["photos", "Show photos", true],
  ["crop", "Cut each photo to its frame", false],
  ["place", "Name the site", false],
];

const HOW_MADE =
  "The journal’s computer makes the report, so that takes a connection. Its photos are made anew: they carry no place, no camera number and no name. Which photos stand for a cultivar is chosen in its verdict; what is not chosen there, the first, the one at the peak and the latest, the journal adds, and says so.";

export function reportsScreen({ journal: { store } }, { trial: trialId, of = "trial", cultivar = "" }) {
  const trial = chosenTrial(store, trialId);
  if (!trial) return { title: "Reports", nodes: [element("h1", {}, "Reports"), noTrialYet()] };
  const asked = {
    of: REPORTS.some(([name]) => name === of) ? of : "trial",
    cultivar,
    other: "",
    format: "html",
    paper: "",
    ...Object.fromEntries(TICKS.map(([name, , usual]) => [name, usual])),
  };
  return {
    title: "Reports",
    wide: true,
    nodes: [
      element("h1", {}, "Reports"),
      element("p", { class: "quiet" }, trialInWords(trial)),
      live(store, ["trial", "planting", "cultivar"], () => form(store, trial, asked), { class: "fields columns" }),
    ],
  };
}

function form(store, trial, asked) {
  const cultivars = cultivarsOf(store, trial.id);
  const others = store.all("trial").filter(({ id }) => id !== trial.id).sort((a, b) => (b.fields.year ?? 0) - (a.fields.year ?? 0));
  if (!cultivars.some(([id]) => id === asked.cultivar)) asked.cultivar = cultivars[0]?.[0] ?? "";
  if (!others.some(({ id }) => id === asked.other)) asked.other = others[0]?.id ?? "";
  const parts = {};
  const field = (name, label, options) => {
    const id = freshId(`report-${name}`);
    const select = chooser(options, asked[name], () => {
      asked[name] = select.value;
      show();
    });
    select.id = id;
    return (parts[name] = element("div", { class: "field" }, element("label", { for: id }, label), select));
  };
  const holds = element("p", { class: "help", "aria-live": "polite" });
  const open = link("", { class: "primary", target: "_blank", rel: "noopener", id: "open-report" }, "Open the report");
  const save = link("", { class: "secondary", download: "", id: "save-report" }, "Save it");
  const share = link("", { id: "share-report" }, "Share it by a link");
  const missing = element("p", { role: "status" });
  const show = () => {
    const missed = whatIsMissing(trial, asked, cultivars);
    parts.cultivar.hidden = asked.of !== "cultivar" || !cultivars.length;
    parts.other.hidden = asked.of !== "two-trials" || !others.length;
    parts.paper.hidden = asked.format !== "pdf";
    holds.textContent = HOLDS[asked.of];
    redrawText(missing, missed);
    open.hidden = asked.format === "markdown" || missed !== "";
    save.hidden = missed !== "";
    save.classList.toggle("primary", asked.format === "markdown");
    save.classList.toggle("secondary", asked.format !== "markdown");
    share.hidden = missed !== "";
    share.href = `#/review/reports/${trial.id}/share?${queryOf(asked)}&report=${asked.of}`;
    open.href = addressOf(trial, asked, true);
    save.href = addressOf(trial, asked, false);
  };
  const nodes = [
    element(
      "div",
      { class: "fields" },
      field("of", "Report", REPORTS),
      holds,
      field("cultivar", "Cultivar", cultivars),
      field("other", "Beside it", others.map((one) => [one.id, trialInWords(one)])),
      field("format", "As", FORMATS),
      field("paper", "Paper", PAPERS),
      missing,
    ),
    element("div", { class: "fields" }, ticks(asked, show), element("p", { class: "quiet" }, HOW_MADE), element("p", {}, share)),
    element("div", { class: "action-bar whole-row" }, open, save),
  ];
  show();
  return nodes;
}

function ticks(asked, tell) {
  return element(
    "fieldset",
    {},
    element("legend", {}, "What it shows"),
    TICKS.map(([name, words]) => {
      const id = freshId(`report-${name}`);
      const box = element("input", {
        id,
        type: "checkbox",
        checked: asked[name],
        onchange: () => {
          asked[name] = box.checked;
          tell();
        },
      });
      return element("div", { class: "tick" }, box, element("label", { for: id }, words));
    }),
  );
}

function redrawText(place, words) {
  if (place.textContent !== words) place.textContent = words;
  place.hidden = words === "";
}

function whatIsMissing(trial, asked, cultivars) {
  if (asked.of === "cultivar" && !cultivars.length) return `Nothing is planted in ${trialInWords(trial)} yet, so there is no cultivar to report on.`;
  if (asked.of === "two-trials" && !asked.other) return "There is only one trial in this journal, so there is none to put beside it.";
  return "";
}

/** Each cultivar of the trial once, in walking order. */
function cultivarsOf(store, trialId) {
  const ids = new Set(plantingsInWalkOrder(store, trialId).map(({ fields }) => fields.cultivar_id));
  return [...ids].map((id) => store.get("cultivar", id)).filter(Boolean).map((one) => [one.id, cultivarInWords(one)]);
}

/** What was chosen of the report, where it is not what is usual. */
function queryOf(asked) {
  const query = new URLSearchParams();
  if (asked.of === "cultivar") query.set("cultivar", asked.cultivar);
  if (asked.of === "two-trials") query.set("other", asked.other);
  if (asked.format === "pdf" && asked.paper) query.set("paper", asked.paper);
  for (const [name, , usual] of TICKS) if (asked[name] !== usual) query.set(name, asked[name] ? "yes" : "no");
  return query;
}

/** @param {boolean} view to be shown rather than saved */
function addressOf(trial, asked, view) {
  const query = queryOf(asked);
  query.set("trial", trial.id);
  query.set("format", asked.format);
  if (view) query.set("view", "yes");
  return `/api/reports/${asked.of}?${query}`;
}
