/** Today's walk: the plantings in walking order, what is done and left, and the way to the next one. */

import { button, element, link, live, redraw } from "../dom.js";
import { chooser } from "../chooser.js";
import { chosenTrial } from "../../store/queries.js";
import { nextOnWalk } from "../../store/walk.js";
import { dayInWords, trialInWords } from "../../words.js";
import { orderList } from "./order.js";
import { stops } from "./stops.js";
import { endedSummary } from "./summary.js";
import { chooseTrialToWalk, todaysTour, trialsToWalk } from "./tour.js";
import { walkBegun } from "./visit.js";
import { clockInWords, placeInWords } from "./words.js";

const KINDS = [
  "trial", "planting", "planter", "cultivar", "walk", "visit", "finding", "photo", "care", "care_plan", "recording",
]; // prettier-ignore

export function walkScreen(context) {
  const place = element("div", { class: "walk" }, element("p", { class: "quiet" }, "Opening the walk …"));
  show(context, place);
  return { title: "Walk", nodes: [element("h1", {}, "Walk"), place] };
}

async function show(context, place) {
  const { store, queue } = context.journal;
  const tour = await todaysTour(context.journal);
  if (!tour) return redraw(place, nothingToWalk(store));
  const now = { ordering: false, rows: new Map() };
  const ways = { again: () => redraw(list, draw()), elsewhere: () => show(context, place) };
  const draw = () => parts(context, tour, now, ways);
  const list = live(store, KINDS, draw, { class: "walk-parts" });
  redraw(place, list);
  const stop = queue.watch(() => (list.isConnected ? tellClock(list, queue) : stop()));
}

/** The clock is compared at each answer of the server, so the warning may come while the list is looked at. */
function tellClock(list, queue) {
  const words = clockInWords(queue.state.clockOffSeconds);
  const node = list.querySelector(".clock");
  if (node && node.textContent !== words) node.textContent = words;
}

function nothingToWalk(store) {
  const trial = chosenTrial(store);
  if (!trial)
    return [
      element("p", { class: "lead" }, "There is no trial to walk yet."),
      link("#/set-up/trials/new", { class: "primary" }, "Set up a trial"),
    ];
  const some = store.all("planting").length > 0;
  const words = some
    ? "No planting stands today: all were removed, or are planted later."
    : `“${trial.fields.title}” has no plantings yet.`;
  return [
    element("p", { class: "lead" }, words),
    link(
      some ? `#/set-up/trials/${trial.id}/planters` : `#/set-up/trials/${trial.id}/list`,
      { class: "primary" },
      some ? "Look at the plantings" : "Enter the plantings",
    ),
  ];
}

function parts(context, tour, now, ways) {
  const { store } = context.journal;
  const walk = tour.overview();
  if (!walk.entries.length) return nothingToWalk(store);
  const clock = clockInWords(context.journal.queue.state.clockOffSeconds);
  return [
    element("p", { class: "clock warning-line", role: "status" }, clock),
    heading(context, walk, ways),
    walk.walk?.fields.ended ? endedSummary(context.journal, walk) : null,
    now.ordering ? orderList(context, tour.trialId) : stops(context.journal, walk, now.rows),
    moreWays(context, tour, walk, now, ways.again),
    now.ordering ? null : bar(context, tour, walk, ways.again),
  ];
}

function heading({ journal }, walk, { elsewhere }) {
  const { store } = journal;
  const trials = trialsToWalk(store, walk.day);
  const choose = async (event) => {
    await chooseTrialToWalk(journal, event.target.value);
    event.target.blur();
    elsewhere();
  };
  const title = trialInWords(store.get("trial", walk.trialId));
  const select = chooser(
    trials.map((trial) => [trial.id, trialInWords(trial)]),
    walk.trialId,
    choose,
  );
  select.setAttribute("aria-label", "Trial");
  const rest = [
    `of ${walk.entries.length}`,
    walk.done && `${walk.done} done`,
    walk.skipped && `${walk.skipped} skipped`,
  ];
  return element(
    "header",
    {},
    trials.length > 1 ? select : element("p", {}, title),
    element("p", { class: "quiet" }, dayInWords(walk.day)),
    element(
      "p",
      { class: "left", role: "status" },
      element("span", { class: "big" }, walk.walk?.fields.ended ? "Walk ended" : `${walk.left} left`),
      element("span", { class: "quiet" }, rest.filter(Boolean).join(" · ")),
    ),
  );
}

/** Seldom wanted, so after the list and not at the thumb. */
function moreWays(context, tour, walk, now, again) {
  const flip = () => {
    now.ordering = !now.ordering;
    again();
    if (now.ordering) scrollTo(0, 0);
  };
  const order = button(now.ordering ? "Back to the walk" : "Change the order", flip, { id: "order" });
  const isUnderWay = walk.walk && !walk.walk.fields.ended && !now.ordering;
  const end = isUnderWay && button("End the walk", () => setEnded(context, tour, true), { id: "end" });
  return element("div", { class: "ways" }, order, end);
}

function bar(context, tour, walk, again) {
  const next = nextOnWalk(walk.entries);
  const primary = (words, onclick, id) => button(words, onclick, { class: "primary", id });
  if (walk.walk?.fields.ended)
    return element("div", { class: "action-bar" }, primary("Take it up again", () => setEnded(context, tour, false), "again"));
  if (!next)
    return element("div", { class: "action-bar" }, primary("End the walk", () => setEnded(context, tour, true), "end-now"));
  const pause = async () => {
    await tour.setPaused(true);
    again();
    context.notices.say("Paused. Everything noted is kept; resume here, also after closing the browser.");
  };
  return element(
    "div",
    { class: "action-bar walk-bar" },
    onward(context, tour, walk, next),
    walk.walk && !tour.paused ? button("Pause", pause, { id: "pause", class: "secondary" }) : null,
  );
}

function onward(context, tour, walk, next) {
  const { journal } = context;
  const verb = tour.paused ? "Resume" : walk.walk ? "Next" : "Start";
  const begin = async () => {
    try {
      if (tour.paused) await tour.setPaused(false);
      const changes = walkBegun(journal.store, tour.trialId, tour.day);
      if (changes.length) await journal.note(changes);
    } catch (problem) {
      context.notices.say(problem.message);
    }
  };
  const skipped = next.state === "skipped" ? " (skipped)" : "";
  const words = `${verb}: ${placeInWords(journal.store, next.planting)}${skipped}`;
  return link(`#/walk/${next.planting.id}`, { class: "primary", id: "onward", onclick: begin }, words);
}

async function setEnded({ journal, notices }, tour, ended) {
  try {
    const begun = walkBegun(journal.store, tour.trialId, tour.day);
    await journal.note([...begun, { kind: "walk", id: tour.id, fields: { ended } }]);
    scrollTo(0, 0);
  } catch (problem) {
    notices.say(problem.message);
  }
}
