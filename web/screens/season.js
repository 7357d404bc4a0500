/** The season of one trial: its timeline, tapped to see a photo. */

import { element, freshId, link, live } from "./dom.js";
import { chosenTrial, isMeasuring } from "../store/queries.js";
import { figure } from "./figure.js";
import { chooser } from "./plantings.js";

export function seasonScreen({ journal, go }, { trial: trialId }) {
  const { store, server } = journal;
  const trial = chosenTrial(store, trialId);
  if (!trial) return { title: "Season", nodes: [element("h1", {}, "Season"), nothingYet()] };
  return {
    title: "Season",
    wide: true,
    nodes: [
      element("h1", {}, "Season"),
      whichTrial(store, trial, go),
      element("p", { class: "quiet" }, "Tap a date to see its photo, a name to see the planting."),
      live(
        store,
        () => isMeasuring(store) || store.stamp(["measurement", "planting", "planter"]),
        () => timeline(store, server, trial),
      ),
    ],
  };
}

function timeline(store, server, trial) {
  const what = {
    path: "/api/timeline.svg",
    table: "/api/timeline",
    query: `trial=${trial.id}`,
    title: trial.fields.title,
    id: "timeline",
  };
  const waiting = isMeasuring(store)
    ? element("p", {}, "Photos are still being measured; the picture is drawn anew when all are done.")
    : null;
  return [waiting, figure(server, what)];
}

function nothingYet() {
  return element("p", {}, "No trial yet. ", link("#/set-up/trials/new", {}, "Set up a trial"));
}

function whichTrial(store, trial, go) {
  const trials = store.all("trial");
  if (trials.length < 2) return null;
  const options = trials.map((one) => [one.id, `${one.fields.title} (${one.fields.year})`]);
  const select = chooser(options, trial.id, (event) => go(`#/season/${event.target.value}`));
  select.id = freshId("trial");
  return element(
    "div",
    { class: "filters" },
    element("div", {}, element("label", { for: select.id }, "Trial"), select),
  );
}
