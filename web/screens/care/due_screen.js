/** Care: what is due and overdue, done with one tap for one planting, a group or all. Works without the server. */

import { element, link, live } from "../dom.js";
import { localDay } from "../../store/walk.js";
import { dueByTask, dueSoon, quietSince, trialsStanding } from "../../store/care.js";
import { taskPart } from "./task.js";
import { comingInWords } from "./words.js";
import { quietNote } from "./quiet_note.js";
import { trialInWords } from "../../words.js";

const KINDS = ["care", "care_plan", "planting", "planter", "cultivar", "trial"];
const DAYS_AHEAD = 7;

export function careScreen(context) {
  const { store } = context.journal;
  const day = localDay(new Date());
  const typed = new Map();
  return {
    title: "Care",
    nodes: [
      element("h1", {}, "Care"),
      live(store, KINDS, () => parts(context, day, typed), { class: "stack" }),
    ],
  };
}

function parts(context, day, typed) {
  const { store } = context.journal;
  const trials = trialsStanding(store, day);
  if (!trials.length) return element("p", { class: "lead" }, "Nothing is planted now, so no care is due.");
  return trials.map((trial) => trialPart(context, trial, day, { typed, named: trials.length > 1 }));
}

function trialPart(context, trial, day, { typed, named }) {
  const { store } = context.journal;
  const tasks = dueByTask(store, trial.id, day);
  const quiet = tasks.length ? quietSince(store, trial.id, day) : null;
  const soon = dueSoon(store, trial.id, day, DAYS_AHEAD);
  const isPlanned = store.all("care_plan").some(({ fields }) => fields.trial_id === trial.id);
  const nothing = isPlanned ? "Nothing is due today." : "No care is planned yet: say what comes again every so many days.";
  return element(
    "section",
    { class: "stack" },
    named && element("h2", {}, trialInWords(trial)),
    quiet && quietNote(trial, quiet),
    tasks.length
      ? tasks.map((task) => taskPart(context, trial, task, { day, typed, level: named ? "h3" : "h2" }))
      : element("p", { class: "lead" }, nothing),
    soon.length > 0 && coming(soon, named ? "h3" : "h2"),
    element("p", {}, link(`#/set-up/trials/${trial.id}/care`, {}, isPlanned ? "Change what is planned" : "Plan care")),
  );
}

function coming(soon, level) {
  return element(
    "section",
    {},
    element(level, {}, "In the next seven days"),
    element(
      "ul",
      { class: "rows" },
      soon.map((task) => element("li", {}, comingInWords(task))),
    ),
  );
}
