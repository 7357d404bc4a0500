/** One thing to do (feed, spray …) at the plantings where it is due. */

import { button, element, freshId } from "../dom.js";
import { newId } from "../../store/ids.js";
import { productsUsed } from "../../store/walk.js";
import { groupsOf } from "../../store/care.js";
import { describePlanting } from "../../store/queries.js";
import { countInWords, dayInWords } from "../../words.js";
import { plantingLink } from "../names.js";
import { noteWithUndo } from "../undo.js";
import { sprayCautions } from "./cautions.js";
import { doneInWords, overdueInWords, toDoInWords } from "./words.js";

/** Care that is done with something: its name is asked for, and remembered. */
const WITH_A_PRODUCT = ["fed", "sprayed"];

/**
 * @param {{day: string, typed: Map<string, string>, level: string, alone?: boolean}} how `typed`: what was typed on this
 *   screen, kept while parts are drawn anew; `alone`: on the screen of the one planting that it is due at
 */
export function taskPart(context, trial, task, { day, typed, level, alone = false }) {
  const { store } = context.journal;
  const plantings = task.entries.map(({ planting }) => planting);
  const key = `${task.action} ${task.product ?? ""}`;
  const product = () => (WITH_A_PRODUCT.includes(task.action) ? typed.get(key) ?? remembered(store, trial, task) : "");
  const more = new MoreOfTask(key, typed, day);
  const done = (whom, words) => noteDone(context, { trial, task, more, product: product().trim() }, whom, words);
  const name = toDoInWords(task.action);
  return element(
    "section",
    { class: "stack care-task", "data-action": task.action },
    element("div", {}, element(level, {}, name), element("p", { class: "due" }, alone ? overdueInWords(task.entries[0].due.overdueDays) : howDue(task))),
    task.action === "sprayed" && sprayCautions(),
    WITH_A_PRODUCT.includes(task.action) && typedField("With", { value: product() }, (words) => typed.set(key, words)),
    more.node,
    plantings.length > 1 &&
      button(`Done for all ${plantings.length}`, () => done(plantings, `all ${plantings.length}`), {
        class: "primary",
        "aria-label": `${name}: done for all ${plantings.length}`,
      }),
    groupWays(store, name, plantings, done),
    alone
      ? element("div", {}, doneButton(store, name, task.entries[0], done))
      : element("ul", { class: "rows" }, task.entries.map((entry) => plantingRow(store, name, entry, done))),
  );
}

function howDue({ entries }) {
  const most = Math.max(...entries.map(({ due }) => due.overdueDays));
  return `${countInWords(entries.length, "planting")}, ${most ? `up to ${overdueInWords(most)}` : "due today"}`;
}

const remembered = (store, trial, { action, product }) => product ?? productsUsed(store, trial.id, action)[0] ?? "";

function typedField(label, props, tell) {
  const id = freshId("typed");
  const input = element("input", { id, type: "text", autocomplete: "off", maxlength: 120, ...props });
  input.addEventListener("input", () => tell(input.value));
  return element("div", { class: "field" }, element("label", { for: id }, label), input);
}

/** Folded away: care that was done on an earlier day, and a remark on it. */
class MoreOfTask {
  constructor(key, typed, today) {
    Object.assign(this, { key, typed, today });
    const field = (label, name, props) => typedField(label, { value: this[name], ...props }, (value) => typed.set(`${key} ${name}`, value));
    this.node = element(
      "details",
      { id: `more-${key.trim().toLowerCase().replaceAll(/[^a-z0-9]+/g, "-")}` },
      element("summary", {}, "On another day, or with a remark"),
      element("div", { class: "stack tight" }, field("Done on", "day", { type: "date", max: today }), field("Remark", "remark", { maxlength: 2000 })),
    );
  }

  get day() {
    return this.typed.get(`${this.key} day`) || this.today;
  }

  get remark() {
    return (this.typed.get(`${this.key} remark`) ?? "").trim();
  }

  /** The next care is of today again, and has its own remark. */
  forget() {
    for (const name of ["day", "remark"]) this.typed.delete(`${this.key} ${name}`);
  }
}

function groupWays(store, name, plantings, done) {
  const groups = groupsOf(store, plantings);
  if (!groups.length) return null;
  return element(
    "details",
    { id: `groups-${name.toLowerCase().replaceAll(" ", "-")}` },
    element("summary", {}, "Done for a group"),
    element(
      "div",
      { class: "ways" },
      groups.map(({ name: group, plantings: some }) =>
        button(`${group} (${some.length})`, () => done(some, `${group}, ${countInWords(some.length, "planting")}`), {
          "aria-label": `${name}: done for ${group} (${some.length})`,
        }),
      ),
    ),
  );
}

function plantingRow(store, name, entry, done) {
  const { planting, due } = entry;
  const words = element("span", { class: "quiet" }, overdueInWords(due.overdueDays));
  const where = element("span", {}, plantingLink(describePlanting(store, planting.id)), " ", words);
  return element("li", { class: "row" }, where, doneButton(store, name, entry, done));
}

function doneButton(store, name, { planting, due }, done) {
  const known = describePlanting(store, planting.id);
  return button("Done", () => done([planting], known.name), {
    "aria-label": `${name}: done for ${known.name}`,
    id: `done-${due.action}-${planting.id}`,
  });
}

async function noteDone(context, { trial, task, more, product }, plantings, words) {
  const { day, today, remark } = more;
  const early = plantings.filter(({ fields }) => fields.planted_on > day).length;
  if (day > today) return context.notices.say(`${dayInWords(day)} has not been yet: choose the day on which it was done.`);
  if (early) return context.notices.say(`${countInWords(early, "planting was", "plantings were")} planted after ${dayInWords(day)}: choose a later day.`);
  const said = { ...(product ? { product } : {}), ...(remark ? { note: remark } : {}) };
  const changes = plantings.map(({ id }) => ({
    kind: "care",
    id: newId(),
    fields: { trial_id: trial.id, planting_id: id, done_on: day, action: task.action, ...said },
  }));
  const back = changes.map(({ kind, id }) => ({ kind, id, delete: true }));
  more.forget();
  const on = day === today ? "" : ` on ${dayInWords(day)}`;
  return noteWithUndo(context, changes, `Noted: ${doneInWords(task.action)}${on}, ${words}.`, back);
}
