/** The end of a season: one day of removal for all that still stands, or for what is ticked. */

import { button, element, freshId, link, live } from "../dom.js";
import { localDay } from "../../store/walk.js";
import { plantingsInWalkOrder } from "../../store/queries.js";
import { countInWords, dayInWords, trialInWords } from "../../words.js";
import { cultivarName } from "../names.js";
import { noteWithUndo } from "../undo.js";
import { placeInWords } from "../walk/words.js";
import { noTrialScreen } from "./no_trial.js";

export function seasonEndScreen(context, { trial: trialId }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  const today = localDay(new Date());
  const day = element("input", { type: "date", id: freshId("removed-on"), value: today });
  const notPlantedYet = plantingsInWalkOrder(store, trialId).filter(({ fields }) => fields.planted_on > today);
  const left = new Set(notPlantedYet.map(({ id }) => id));
  return {
    title: "End of the season",
    nodes: [
      element("h1", {}, "End of the season"),
      element(
        "p",
        { class: "quiet" },
        `${trialInWords(trial)}. What is removed keeps its photos and numbers; its card can stand elsewhere from the next day on.`,
      ),
      element("div", { class: "field" }, element("label", { for: day.id }, "Removed on"), day),
      live(store, ["planting", "planter", "cultivar"], () => standing(context, trial, { day, left }), { class: "stack" }),
    ],
  };
}

function standing(context, trial, { day, left }) {
  const { store } = context.journal;
  const plantings = plantingsInWalkOrder(store, trial.id).filter(({ fields }) => !fields.removed_on);
  const on = `#/set-up/trials/${trial.id}/new-season`;
  if (!plantings.length)
    return [
      element("p", { class: "lead" }, "Nothing stands any more: the season is over."),
      element("p", {}, link(on, {}, "Begin a new season from this one")),
    ];
  const chosen = () => plantings.filter(({ id }) => !left.has(id));
  const words = () => `Note ${countInWords(chosen().length, "planting")} as removed`;
  const remove = button(words(), () => removeAll(context, chosen(), day.value), {
    class: "primary",
    id: "remove-all",
    disabled: !chosen().length,
  });
  const tick = (planting) => {
    const id = freshId("removed");
    const box = element("input", { type: "checkbox", id, checked: !left.has(planting.id) });
    box.addEventListener("change", () => {
      if (box.checked) left.delete(planting.id);
      else left.add(planting.id);
      remove.textContent = words();
      remove.disabled = !chosen().length;
    });
    const name = [`${placeInWords(store, planting)}: `, cultivarName(store.get("cultivar", planting.fields.cultivar_id))];
    return element("div", { class: "tick" }, box, element("label", { for: id }, name));
  };
  return [element("div", {}, plantings.map(tick)), element("div", { class: "action-bar" }, remove)];
}

async function removeAll(context, plantings, day) {
  if (!day) return context.notices.say("Say on which day they were removed.");
  const early = plantings.filter(({ fields }) => fields.planted_on > day);
  if (early.length) return context.notices.say(`${countInWords(early.length, "planting was", "plantings were")} planted after ${dayInWords(day)}: choose a later day, or untick ${early.length === 1 ? "it" : "them"}.`);
  const all = (value) => plantings.map(({ id }) => ({ kind: "planting", id, fields: { removed_on: value } }));
  await noteWithUndo(context, all(day), `${countInWords(plantings.length, "planting")} removed on ${dayInWords(day)}.`, all(null));
}
