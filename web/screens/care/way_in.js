/** Ways to care from other screens: from Today, and what is due and was done at one planting. */

import { button, element, link, live } from "../dom.js";
import { careDue } from "../../store/care_due.js";
import { localDay } from "../../store/walk.js";
import { dueByTask, quietSince, trialsStanding } from "../../store/care.js";
import { countInWords, dayInWords } from "../../words.js";
import { deleteWithUndo } from "../undo.js";
import { quietNote } from "./quiet_note.js";
import { taskPart } from "./task.js";
import { doneInWords, toDoInWords } from "./words.js";

const LATEST = 6;

/** A section for Today; nothing where nothing is due. */
export function wayToCare({ journal: { store } }) {
  const day = localDay(new Date());
  const draw = () => {
    const due = trialsStanding(store, day).map((trial) => [trial, dueByTask(store, trial.id, day)]);
    const tasks = due.flatMap(([trial, some]) => (some.length && !quietSince(store, trial.id, day) ? some : []));
    if (!tasks.length) return null;
    const words = tasks.map(({ action, entries }) => `${toDoInWords(action).toLowerCase()} ${entries.length}`).join(", ");
    return link(
      "#/care",
      { class: "call", id: "to-care" },
      element("span", { class: "big signal" }, countInWords(tasks.length, "task")),
      element("span", {}, "of care due"),
      element("span", { class: "quiet" }, words),
    );
  };
  return live(store, ["care", "care_plan", "planting", "trial"], draw, { class: "way-to-care" });
}

export function careOfPlanting(context, plantingId) {
  const { store } = context.journal;
  const typed = new Map();
  return live(store, ["care", "care_plan", "planting", "trial"], () => parts(context, plantingId, typed), { class: "stack" });
}

function parts(context, plantingId, typed) {
  const { store } = context.journal;
  const planting = store.get("planting", plantingId);
  const trial = store.get("trial", planting?.fields.trial_id);
  if (!planting || !trial) return null;
  const day = localDay(new Date());
  const due = careDue({ plans: store.all("care_plan"), care: store.all("care") }, planting, day);
  const tasks = due.map((one) => ({ ...one, entries: [{ planting, due: one }] }));
  const quiet = tasks.length ? quietSince(store, trial.id, day) : null;
  if (quiet) return [quietNote(trial, quiet), doneList(context, planting)];
  return [
    tasks.length
      ? tasks.map((task) => taskPart(context, trial, task, { day, typed, level: "h3", alone: true }))
      : element("p", { class: "quiet" }, "Nothing is due today."),
    doneList(context, planting),
  ];
}

function doneList(context, planting) {
  const { store } = context.journal;
  const { trial_id: trial, planted_on: planted, removed_on: removed } = planting.fields;
  const done = store
    .all("care")
    .filter(({ fields }) => fields.trial_id === trial && [planting.id, null, undefined].includes(fields.planting_id))
    .filter(({ fields }) => fields.done_on >= planted && (!removed || fields.done_on <= removed))
    .sort((a, b) => b.fields.done_on.localeCompare(a.fields.done_on));
  if (!done.length) return element("p", { class: "quiet" }, "No care was noted yet.");
  const row = (care) => element("li", { class: "row" }, doneWords(care), takeBack(context, care));
  return [
    element("ul", { class: "rows" }, done.slice(0, LATEST).map(row)),
    done.length > LATEST &&
      element(
        "details",
        { id: "earlier-care" },
        element("summary", {}, `${countInWords(done.length - LATEST, "earlier entry", "earlier entries")}`),
        element("ul", { class: "rows" }, done.slice(LATEST).map(row)),
      ),
  ];
}

function doneWords({ fields: { done_on: day, action, product, planting_id: own, note } }) {
  const words = [doneInWords(action), product && `with ${product}`, !own && "all of the trial", note].filter(Boolean).join(", ");
  return element("span", {}, `${dayInWords(day)}: ${words}`);
}

function takeBack(context, care) {
  const words = `${doneInWords(care.fields.action)}, ${dayInWords(care.fields.done_on)}`;
  return button("Delete", () => deleteWithUndo(context, [care], `Deleted: ${words}.`), {
    "aria-label": `Delete: ${words}`,
    id: `delete-${care.id}`,
  });
}
