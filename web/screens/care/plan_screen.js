/** One planned care, new or to be changed: what, how often, for whom. */

import { button, element, freshId, link } from "../dom.js";
import { form } from "../form.js";
import { newId } from "../../store/ids.js";
import { localDay } from "../../store/walk.js";
import { groupsOf, plansTogether, plantingsToPlanFor } from "../../store/care.js";
import { noTrialScreen } from "../no_trial.js";
import { placeInWords } from "../walk/words.js";
import { cultivarWords } from "../names.js";
import { sprayCautions } from "./cautions.js";
import { PLANNED, toDoInWords } from "./words.js";
import { trialInWords } from "../../words.js";

const FIELDS = [
  { name: "action", label: "What", options: PLANNED.map((action) => [action, toDoInWords(action)]) },
  { name: "every_days", label: "Every so many days", type: "whole", help: "7 is every week" },
  { name: "begins_on", label: "From", type: "day", help: "Empty: so many days after planting" },
  { name: "ends_on", label: "Until", type: "day", help: "Empty: as long as the planting stands" },
  { name: "product", label: "With", help: "The product’s name; how much is on its label" },
  { name: "note", label: "Note", type: "long" },
];

export function carePlanScreen(context, { trial: trialId, plan: planId }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  const group = plansTogether(store, trialId).find(({ plans }) => plans.some(({ id }) => id === planId));
  if (!trial || (planId !== "new" && !group)) return noTrialScreen();
  const whom = new Whom(store, trialId, group);
  const title = group ? "Change planned care" : "Plan care";
  const start = group?.fields ?? { action: "fed", every_days: 7 };
  const planForm = form(FIELDS, start, (typed) => save(context, trialId, { group, typed, whom }), {
    words: group ? "Save" : "Plan it",
    more: [link(`#/set-up/trials/${trialId}/care`, { class: "secondary" }, "Cancel")],
  });
  planForm.insertBefore(whom.node, planForm.querySelector("[data-field=begins_on]"));
  const cautions = element("div", { hidden: true }, sprayCautions());
  planForm.insertBefore(cautions, planForm.querySelector("[data-field=note]"));
  const action = planForm.querySelector("[data-field=action] select");
  const showCautions = () => (cautions.hidden = action.value !== "sprayed");
  planForm.addEventListener("change", showCautions);
  showCautions();
  return { title, nodes: [element("h1", {}, title), element("p", { class: "quiet" }, trialInWords(trial)), planForm] };
}

/** For whom: all of the trial, whatever is planted later too, or the plantings that are ticked. */
class Whom {
  constructor(store, trialId, group) {
    this.plantings = plantingsToPlanFor(store, trialId, localDay(new Date()));
    const chosen = new Set(group?.plans.map(({ fields }) => fields.planting_id) ?? []);
    const forAll = !group || group.forAll;
    this.all = this.#radio("All of the trial, and what is planted later", forAll);
    this.some = this.#radio("Only these plantings", !forAll);
    this.boxes = new Map(
      this.plantings.map(({ id }) => [id, element("input", { type: "checkbox", id: freshId("for"), checked: chosen.has(id) })]),
    );
    this.list = element("div", { class: "stack" }, this.#groups(store), this.#ticks(store));
    this.node = element(
      "fieldset",
      { class: "whom" },
      element("legend", {}, "For"),
      this.all.row,
      this.plantings.length > 0 && this.some.row,
      this.list,
    );
    this.node.addEventListener("change", () => this.#show());
    this.#show();
  }

  /** @returns {(string | null)[]} planting ids, or null for all of the trial */
  get chosen() {
    if (this.all.input.checked) return [null];
    return [...this.boxes].filter(([, box]) => box.checked).map(([id]) => id);
  }

  #show() {
    this.list.hidden = this.all.input.checked;
  }

  #radio(words, checked) {
    const id = freshId("whom");
    const input = element("input", { type: "radio", name: "whom", id, checked });
    return { input, row: element("div", { class: "tick" }, input, element("label", { for: id }, words)) };
  }

  #groups(store) {
    const groups = groupsOf(store, this.plantings);
    const tick = (some) => {
      const all = some.every(({ id }) => this.boxes.get(id).checked);
      for (const { id } of some) this.boxes.get(id).checked = !all;
    };
    return (
      groups.length > 0 &&
      element(
        "div",
        { class: "ways", role: "group", "aria-label": "Tick a group" },
        groups.map(({ name, plantings }) => button(`${name} (${plantings.length})`, () => tick(plantings))),
      )
    );
  }

  #ticks(store) {
    return element(
      "div",
      {},
      this.plantings.map((planting) => {
        const box = this.boxes.get(planting.id);
        const cultivar = store.get("cultivar", planting.fields.cultivar_id)?.fields;
        const name = [placeInWords(store, planting), cultivar && cultivarWords(cultivar.genus, cultivar.name)].filter(Boolean).join(": ");
        return element("div", { class: "tick" }, box, element("label", { for: box.id }, name));
      }),
    );
  }
}

async function save({ journal, notices, go }, trialId, { group, typed, whom }) {
  const wanted = whom.chosen;
  if (!wanted.length) return [{ field: null, message: "Tick at least one planting, or choose all of the trial." }];
  const known = new Map((group?.plans ?? []).map((plan) => [plan.fields.planting_id ?? null, plan]));
  const changes = [
    ...wanted.map((id) => planFor(known.get(id), { trial_id: trialId, planting_id: id, ...typed })),
    ...[...known].filter(([id]) => !wanted.includes(id)).map(([, plan]) => ({ kind: "care_plan", id: plan.id, delete: true })),
  ];
  const refused = await journal.applyChanges(changes);
  if (refused.length) return oncePerField(refused);
  notices.say("Planned.");
  go(`#/set-up/trials/${trialId}/care`);
  return [];
}

const planFor = (plan, fields) => ({ kind: "care_plan", id: plan?.id ?? newId(), fields });

/** The same wrong field of eight plans is said once. */
function oncePerField(refused) {
  const seen = new Map(refused.map((one) => [`${one.field} ${one.message}`, one]));
  return [...seen.values()];
}
