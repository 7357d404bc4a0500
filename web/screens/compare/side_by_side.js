/** Plantings held against each other by one number at one moment: the ranking, the curves, what stands beside them. */

import { element, freshId, link, redraw } from "../dom.js";
import { shortDayInWords, trialInWords } from "../../words.js";
import { figure } from "../figure.js";
import { cultivarName } from "../names.js";
import { chooser } from "../chooser.js";
import { problemNote } from "../problem.js";
import { groupList } from "./group_list.js";
import { WAYS } from "./overview.js";

const FIRST_NUMBER = "bloom_cover";
const FIRST_WEEK = 6;

export function sideBySideScreen({ journal }, { by, id, of, week, on }) {
  const { store } = journal;
  const isTrial = by === "cultivar";
  const about = store.get(isTrial ? "trial" : "cultivar", id);
  if (!about || !(isTrial || WAYS[by])) return nothingHere();
  const asked = { of: of ?? FIRST_NUMBER, week: week ?? (on ? null : String(FIRST_WEEK)), on: on ?? null };
  const place = element("div", { class: "stack" }, element("p", { class: "quiet" }, "Reading …"));
  const show = () => fill(journal, place, { by, id, isTrial }, asked, show);
  show();
  return {
    title: isTrial ? "Cultivars side by side" : WAYS[by][0],
    wide: true,
    nodes: [
      element(
        "header",
        {},
        element("h1", {}, isTrial ? "Cultivars side by side" : cultivarName(about)),
        element("p", { class: "quiet" }, isTrial ? trialInWords(about) : WAYS[by][0]),
      ),
      place,
    ],
  };
}

function nothingHere() {
  return {
    title: "Nothing to compare",
    nodes: [
      element("h1", {}, "There is nothing to compare here"),
      element("p", {}, link("#/compare", {}, "What can be compared")),
    ],
  };
}

async function fill({ server }, place, what, asked, show) {
  const query = queryOf(what, asked);
  try {
    const [answer, { numbers }] = await Promise.all([
      server.getJson(`/api/compare/plantings?${query}`),
      server.getJson("/api/compare/choices"),
    ]);
    redraw(place, choosers(what, answer, numbers, asked, show), found(server, query, answer));
  } catch (problem) {
    redraw(place, problemNote(problem, show));
  }
}

function queryOf({ by, id, isTrial }, { of, week, on }) {
  const query = new URLSearchParams({ by, of, [isTrial ? "trial" : "cultivar"]: id });
  if (on) query.set("on", on);
  else query.set("week", week);
  return query;
}

function choosers({ by, id }, answer, numbers, asked, show) {
  const change = (given) => {
    Object.assign(asked, given);
    const query = new URLSearchParams({ of: asked.of, ...(asked.on ? { on: asked.on } : { week: asked.week }) });
    history.replaceState(null, "", `#/compare/${by}/${id}?${query}`);
    show();
  };
  const names = numbers.map(({ name, words }) => [name, words]);
  const isThen = numbers.find(({ name }) => name === asked.of)?.then;
  return element(
    "div",
    { class: "filters" },
    labelled("number", "Number", chooser(names, asked.of, (event) => change({ of: event.target.value }))),
    isThen && momentChooser(answer, asked, change),
  );
}

/** Weeks after planting and dates in one list: plantings of one age, or of one day. */
function momentChooser({ weeks, days }, { week, on }, change) {
  const [first, last] = weeks ?? [0, 0];
  const ages = Array.from({ length: last - first + 1 }, (_, at) => String(first + at));
  if (week !== null && !ages.includes(String(week))) ages.unshift(String(week));
  const options = [
    ...ages.map((age) => [`week ${age}`, `week ${age}`]),
    ...(on && !days.includes(on) ? [...days, on].sort() : days).map((day) => [day, shortDayInWords(day)]),
  ];
  const select = chooser(options, on ?? `week ${week}`, ({ target }) => {
    const age = target.value.match(/^week (\d+)$/)?.[1];
    change(age ? { week: age, on: null } : { week: null, on: target.value });
  });
  return labelled("moment", "When", select);
}

function labelled(id, words, select) {
  select.id = `compare-${id}`;
  return element("div", {}, element("label", { for: select.id }, words), select);
}

function found(server, query, answer) {
  const drawn = (name, title) =>
    figure(server, {
      path: `/api/compare/${name}.svg`,
      table: `/api/compare/${name}`,
      query: query.toString(),
      title,
      id: freshId(name),
    });
  if (!answer.ranks.length)
    return element("p", {}, "None of them has this number then. Choose another week, day or number.", groupList(answer));
  return [
    element("p", {}, answer.sentences.join(" ")),
    element("div", { class: "curves" }, drawn("ranking", answer.title), drawn("curves", "Over the season")),
    element("section", {}, element("h2", {}, "One by one"), groupList(answer)),
  ];
}
