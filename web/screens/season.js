/** The season of one trial: its timeline, sorted and grouped as this device remembers, tapped to see a photo. */

import { element, freshId, link, live, redraw } from "./dom.js";
import { chosenTrial, isMeasuring, unframedPlantings } from "../store/queries.js";
import { WALKING_ORDER, timelineQuery } from "../store/season_addresses.js";
import { ORDER_HERE } from "../sync/season_ahead.js";
import { figure } from "./figure.js";
import { countInWords, trialInWords } from "../words.js";
import { frameInTurn } from "./frame.js";
import { chooser } from "./chooser.js";
import { noTrialYet } from "./no_trial.js";

export const SORTS = [
  ["walk", "Walking order"],
  ["cultivar", "Cultivar"],
  ["genus", "Genus"],
  ["canopy_fill", "Canopy fill, fullest first"],
  ["bloom_cover", "In bloom, most first"],
  ["peak", "Peak bloom, most first"],
  ["season_bloom", "Season bloom, most first"],
  ["weeks_in_bloom", "Weeks in bloom, most first"],
  ["days_to_50", "Days to half full, fewest first"],
  ["days_to_90", "Days to nine tenths full, fewest first"],
  ["spent_share", "Spent bloom, most first"],
  ["fade", "Fade, most first"],
  ["evenness", "Evenness, least even first"],
];

export const GROUPS = [
  ["none", "One list"],
  ["genus", "By genus"],
  ["planter", "By kind of planter"],
  ["light", "By light"],
];

export async function seasonScreen({ journal, go }, { trial: trialId }) {
  const { store, device } = journal;
  const trial = chosenTrial(store, trialId);
  if (!trial) return { title: "Season", nodes: [element("h1", {}, "Season"), noTrialYet()] };
  const order = { ...WALKING_ORDER, ...(await device.get(ORDER_HERE)) };
  const part = live(
    store,
    () => isMeasuring(store) || store.stamp(["measurement", "planting", "planter", "frame"]),
    () => timeline(journal, trial, order),
    { class: "stack" },
  );
  const choose = (name) => async (event) => {
    order[name] = event.target.value;
    redraw(part, timeline(journal, trial, order));
    await device.set(ORDER_HERE, { ...order });
  };
  return {
    title: "Season",
    wide: true,
    nodes: [
      element("h1", {}, "Season"),
      element(
        "div",
        { class: "filters" },
        whichTrial(store, trial, go),
        labelled("Order", chooser(SORTS, order.sort, choose("sort"))),
        labelled("Groups", chooser(GROUPS, order.group, choose("group"))),
      ),
      part,
    ],
  };
}

function timeline({ store, server }, trial, order) {
  if (!store.all("planting").some(({ fields }) => fields.trial_id === trial.id)) return nothingPlanted(trial);
  const what = {
    path: "/api/timeline.svg",
    table: "/api/timeline",
    query: timelineQuery(trial.id, order),
    title: trial.fields.title,
    id: "timeline",
  };
  const waiting = isMeasuring(store)
    ? element("p", {}, "Photos are still being measured; the picture is drawn anew when all are done.")
    : null;
  const numbers = link(`#/season/${trial.id}/numbers`, { class: "secondary", id: "numbers-out" }, "Take the numbers out");
  const walks = link(`#/season/${trial.id}/walks`, { class: "secondary", id: "earlier-walks" }, "Earlier walks");
  const ways = element("p", { class: "ways" }, walks, numbers);
  return [howTo(), waiting, withoutFrame(store, trial), figure(server, what), ways];
}

const howTo = () =>
  element(
    "p",
    { class: "quiet" },
    "Tap a date to see its photo, a name to see the planting. ",
    element("span", { class: "by-keyboard" }, "By keyboard, Tab goes from planting to planting and the arrow keys from date to date."),
  );

function withoutFrame(store, trial) {
  const waiting = unframedPlantings(store, trial.id);
  if (!waiting.length) return null;
  const have = waiting.length === 1 ? "has" : "have";
  return element(
    "p",
    { class: "quiet" },
    `${countInWords(waiting.length, "planting")} ${have} no frame: their shares are of whole photos, and say little about growth. `,
    link(frameInTurn(waiting[0].photo), {}, "Draw the frames"),
  );
}

/** What to do first, where a picture would show nothing. */
const nothingPlanted = (trial) =>
  element("p", {}, "Nothing is planted in this trial yet. ", link(`#/set-up/trials/${trial.id}/list`, {}, "Enter plantings as a list"));

function whichTrial(store, trial, go) {
  const trials = store.all("trial");
  if (trials.length < 2) return null;
  const options = trials.map((one) => [one.id, trialInWords(one)]);
  return labelled("Trial", chooser(options, trial.id, (event) => go(`#/season/${event.target.value}`)));
}

function labelled(words, select) {
  select.id = freshId("season");
  return element("div", {}, element("label", { for: select.id }, words), select);
}
