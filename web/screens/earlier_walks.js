/** What there was to look at on each walk of a trial, as of its day: what was answered since is told too. */

import { element, freshId, link } from "./dom.js";
import { walkDays } from "../store/season_addresses.js";
import { dayInWords, trialInWords } from "../words.js";
import { chooser } from "./chooser.js";
import { lookAtList } from "./look_at_list.js";
import { notHere } from "./not_here.js";

export function earlierWalksScreen(context, { trial: trialId, day }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  if (!trial) return notHere("This trial is not in the journal", "#/season", "To the season");
  const days = walkDays(store, trialId);
  const shown = days.includes(day) ? day : days[0];
  return {
    title: "Earlier walks",
    nodes: [
      element("h1", {}, "Earlier walks"),
      element("p", { class: "quiet" }, trialInWords(trial)),
      shown
        ? [whichWalk(context, trialId, days, shown), lookAtList(context, { trialId, day: shown, ifNothing: "Nothing stood out." })]
        : element("p", {}, "No walk yet: take photos in, and the day they were taken becomes a walk."),
      element("p", {}, link(`#/season/${trialId}`, {}, "To the season")),
    ].flat(),
  };
}

function whichWalk({ go }, trialId, days, shown) {
  const options = days.map((day) => [day, dayInWords(day)]);
  const choose = chooser(options, shown, (event) => go(`#/season/${trialId}/walks?day=${event.target.value}`));
  choose.id = freshId("walk");
  return element("div", { class: "field" }, element("label", { for: choose.id }, "Walk of"), choose);
}
