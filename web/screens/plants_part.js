/** The plants of one planting: how many live, each count with ways to correct it, and its removal. */

import { button, element, live } from "./dom.js";
import { wrongDay } from "./day_that_was.js";
import { form } from "./form.js";
import { newId } from "../store/ids.js";
import { COUNT_REASONS, countInFull, countsOf, plantsInWords } from "../store/plants.js";
import { localDay } from "../store/walk.js";
import { dayInWords } from "../words.js";
import { deleteWithUndo, sayWithUndo } from "./undo.js";

export function plantsPart(context, plantingId) {
  const { store } = context.journal;
  const entry = new CountForm(context, plantingId);
  const removal = () => store.get("planting", plantingId)?.fields.removed_on ?? "";
  return element(
    "section",
    { id: "plants" },
    element("h2", {}, "Plants"),
    live(store, ["plant_count", "planting"], () => counted(context, plantingId, entry), { class: "stack tight" }),
    entry.node,
    live(store, removal, () => removalPart(context, store.get("planting", plantingId))),
  );
}

function counted(context, plantingId, entry) {
  const { store } = context.journal;
  const planting = store.get("planting", plantingId);
  if (!planting) return null;
  const counts = countsOf(store, plantingId);
  const rows = [...counts].reverse().map((count) => countRow(context, count, entry));
  return [
    element("p", { class: "lead" }, plantsInWords(planting.fields.plants, counts)),
    rows.length ? element("ul", { class: "rows counts" }, rows) : null,
  ];
}

function countRow(context, count, entry) {
  const on = dayInWords(count.fields.counted_on);
  const remove = () => deleteWithUndo(context, [count], `The count of ${on} is deleted.`);
  return element(
    "li",
    { class: "row" },
    element("span", {}, `${on}: ${countInFull(count.fields)}`),
    element(
      "div",
      { class: "ways" },
      button("Change", () => entry.edit(count), { "aria-label": `Change the count of ${on}`, id: `change-${count.id}` }),
      button("Delete", remove, { "aria-label": `Delete the count of ${on}`, id: `delete-${count.id}` }),
    ),
  );
}

/** Folded away until a count is to be added or corrected. */
class CountForm {
  constructor(context, plantingId) {
    Object.assign(this, { context, plantingId });
    this.summary = element("summary", {});
    this.place = element("div", {});
    this.node = element("details", { id: "count-plants" }, this.summary, this.place);
    this.show(null);
  }

  edit(count) {
    this.show(count);
    this.node.open = true;
    this.node.querySelector("input").focus();
  }

  show(count) {
    this.summary.textContent = count ? `Correct the count of ${dayInWords(count.fields.counted_on)}` : "Count the plants";
    const values = count?.fields ?? { counted_on: localDay(new Date()) };
    const specs = [
      { name: "counted_on", label: "Counted on", type: "day" },
      { name: "plants", label: "Living", type: "whole" },
      { name: "reason", label: "What happened", options: [["", "not said"], ...COUNT_REASONS.map((word) => [word, word])] },
      { name: "note", label: "Why, if known" },
    ];
    const leave = count ? [button("Leave it as it was", () => this.close(), { id: "leave-count" })] : [];
    const entry = form(specs, values, (typed) => this.save(count, typed), { words: count ? "Save the count" : "Note the count", more: leave });
    entry.classList.add("in-page");
    this.place.replaceChildren(entry);
    this.shown = entry;
  }

  close() {
    this.node.open = false;
    this.show(null);
    this.summary.focus();
  }

  async save(count, typed) {
    const { journal } = this.context;
    const plantedOn = journal.store.get("planting", this.plantingId)?.fields.planted_on;
    const wrong = wrongDay(typed.counted_on, { missing: "Say on which day they were counted.", plantedOn });
    if (wrong) return [{ field: "counted_on", message: wrong }];
    if (typed.plants === null) return [{ field: "plants", message: "Say how many live; 0 when none does." }];
    const id = count?.id ?? newId();
    const { shown } = this;
    const fields = { ...(count ? {} : { planting_id: this.plantingId }), ...typed };
    const refused = await journal.applyChanges([{ kind: "plant_count", id, fields }]);
    if (refused.length) return refused;
    const back = count
      ? { kind: "plant_count", id, fields: Object.fromEntries(Object.keys(typed).map((name) => [name, count.fields[name] ?? null])) }
      : { kind: "plant_count", id, delete: true };
    sayWithUndo(this.context, `${dayInWords(typed.counted_on)}: ${countInFull(typed)}.`, [back]);
    if (this.shown === shown) this.close();
    return [];
  }
}

function removalPart(context, planting) {
  if (!planting) return null;
  const { removed_on: removed } = planting.fields;
  if (removed)
    return element(
      "div",
      { class: "row" },
      element("span", {}, `Removed on ${dayInWords(removed)}.`),
      button("It still stands", () => change(context, planting, null), { id: "still-stands" }),
    );
  const specs = [{ name: "removed_on", label: "Removed on", type: "day" }];
  const entry = form(specs, { removed_on: localDay(new Date()) }, (typed) => noteRemoval(context, planting, typed.removed_on), {
    words: "Note its removal",
  });
  entry.classList.add("in-page");
  return element("details", { id: "remove-planting" }, element("summary", {}, "It was removed"), entry);
}

/** What is wrong with the day is said at it; the rest in a notice, as this form is gone once the planting is seen as removed. */
async function noteRemoval(context, planting, day) {
  const says = wrongDay(day, { missing: "Say on which day it was removed.", plantedOn: planting.fields.planted_on });
  if (says) return [{ field: "removed_on", message: says }];
  await change(context, planting, day);
  return [];
}

async function change(context, planting, day) {
  const changed = (value) => [{ kind: "planting", id: planting.id, fields: { removed_on: value } }];
  try {
    const refused = await context.journal.applyChanges(changed(day));
    if (refused.length) return context.notices.say(refused.map(({ message }) => message).join(" "));
    const words = day ? `Removed on ${dayInWords(day)}. Its photos and numbers stay.` : "It still stands.";
    sayWithUndo(context, words, changed(planting.fields.removed_on ?? null));
  } catch (problem) {
    context.notices.say(problem.message);
  }
}
