/** Plantings held against each other by one number at one moment: the ranking, the curves, what stands beside them. */

import { element, link, redraw } from "../dom.js";
import { FIRST_NUMBER, FIRST_WEEK, askedIn, sideBySideAddress } from "../../store/comparison_addresses.js";
import { figureWidth } from "../../store/season_addresses.js";
import { keptSeen } from "../../store/seen_cache.js";
import { ServerUnreachable } from "../../sync/server.js";
import { capital, shortDayInWords, trialInWords, unbroken } from "../../words.js";
import { asOf, figureOf } from "../figure.js";
import { cultivarName } from "../names.js";
import { chooser } from "../chooser.js";
import { problemNote } from "../problem.js";
import { curveChooser } from "./curve_chooser.js";
import { groupList } from "./group_list.js";
import { WAYS } from "./overview.js";
import { notHere } from "../not_here.js";

/** @typedef {import("../../store/comparison_addresses.js").Asked} Asked */

export function sideBySideScreen(context, { by, id, of, week, on, draw }) {
  const { store } = context.journal;
  const isTrial = by === "cultivar";
  const about = store.get(isTrial ? "trial" : "cultivar", id);
  if (!about || !(isTrial || WAYS[by])) return notHere("There is nothing to compare here", "#/compare", "What can be compared");
  /** @type {{asked: Asked, answer: Object | null}} */
  const now = { asked: firstAsked({ of, week, on, draw }), answer: null };
  const place = element("div", { class: "stack" }, roomForFigures());
  const show = () => fill(context, place, { by, id }, now, show);
  requestAnimationFrame(show);
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

/** A number of the whole season is named without a moment. @returns {Asked} */
const firstAsked = ({ of, week, on, draw }) => ({
  of: of ?? FIRST_NUMBER,
  week: week ?? (of || on ? null : FIRST_WEEK),
  on: on ?? null,
  draw: draw ? draw.split(",") : [],
});

/** As wide as the figures will be, which are drawn for their width. */
const roomForFigures = () =>
  element("div", { class: "curves" }, element("div", { class: "drawing" }, element("p", { class: "quiet" }, "Reading …")));

/** The server's answer for what is asked; without it, what else of this is kept here. */
async function fill(context, place, what, now, show) {
  const { server } = context.journal;
  try {
    const width = figureWidth(place.querySelector(".drawing")?.clientWidth);
    const { answer, keptSince } = await server.getDated(sideBySideAddress(what, now.asked, width));
    now.answer = answer;
    redraw(place, choosers(what, now, show), asOf(keptSince), found(what, now, show));
  } catch (problem) {
    const kept = problem instanceof ServerUnreachable ? await keptOf(what) : [];
    redraw(place, now.answer && choosers(what, now, show), problemNote(problem, show), keptList(what, now, kept));
  }
}

function choosers({ by, id }, now, show) {
  const { asked, answer } = now;
  const change = (given) => {
    Object.assign(asked, given);
    history.replaceState(null, "", addressOf({ by, id }, asked));
    show();
  };
  const { numbers, comparison } = answer;
  const isThen = (name) => numbers.find((one) => one.name === name)?.then;
  const choose = ({ target: { value: of } }) => {
    const hasMoment = asked.week || asked.on;
    change({ of, ...(!isThen(of) ? { week: null, on: null } : hasMoment ? {} : { week: FIRST_WEEK }) });
  };
  const names = numbers.map(({ name, words }) => [name, capital(words)]);
  return element(
    "div",
    { class: "filters" },
    labelled("number", "Number", chooser(names, asked.of, choose)),
    isThen(asked.of) && momentChooser(comparison, asked, change),
  );
}

function addressOf({ by, id }, { of, week, on, draw }) {
  const query = new URLSearchParams({ of, ...(on ? { on } : week ? { week } : {}), ...(draw.length ? { draw: draw.join(",") } : {}) });
  return `#/compare/${by}/${id}?${query}`;
}

/** Weeks after planting and dates in one list: plantings of one age, or of one day. */
function momentChooser({ weeks, days }, { week, on }, change) {
  const [first, last] = weeks ?? [0, 0];
  const ages = Array.from({ length: last - first + 1 }, (_, at) => String(first + at));
  if (week !== null && !ages.includes(String(week))) ages.unshift(String(week));
  const options = [
    ...ages.map((age) => [`week ${age}`, `Week ${age}`]),
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

function found(what, now, show) {
  const { comparison, ranking, curves } = now.answer;
  if (!comparison.ranks.length)
    return element("p", {}, "None of them has this number then. Choose another week, day or number.", groupList(comparison));
  const drawn = (id, title, { svg, table }) => figureOf({ title, id, draw: async () => ({ svg }), table: async () => table });
  const draw = (keys) => {
    now.asked.draw = keys;
    history.replaceState(null, "", addressOf(what, now.asked));
    show();
  };
  return [
    element("p", {}, unbroken(comparison.sentences.join(" "))),
    element(
      "div",
      { class: "curves" },
      drawn("ranking", comparison.title, ranking),
      element("div", { class: "stack" }, drawn("curves", "Over the season", curves), curveChooser(now.answer, draw)),
    ),
    element("section", {}, element("h2", {}, "One by one"), groupList(comparison)),
  ];
}

/** What of this comparison was seen before or brought ahead. @returns {Promise<import("../../store/comparison_addresses.js").Asked[]>} */
async function keptOf(what) {
  if (!globalThis.caches) return [];
  const found = [...(await keptSeen())].map((address) => askedIn(address, what)).filter(Boolean);
  return [...new Map(found.map((asked) => [addressOf(what, asked), asked])).values()];
}

function keptList(what, { answer }, kept) {
  if (!kept.length) return null;
  const words = new Map(answer?.numbers.map(({ name, words: said }) => [name, said]));
  const moment = ({ week, on }) => (on ? `, ${shortDayInWords(on)}` : week ? `, week ${week}` : "");
  const row = (asked) => {
    const name = words.get(asked.of) ?? asked.of.replaceAll("_", " ");
    return element("li", {}, link(addressOf(what, asked), { class: "row" }, `${capital(name)}${moment(asked)}`));
  };
  return element("section", {}, element("h2", {}, "Kept on this device"), element("ul", { class: "rows" }, kept.map(row)));
}
