/** The end of a season: one day of removal for all that still stands, or for what is ticked. */

import { button, element, freshId, link, live } from "../dom.js";
import { localDay } from "../../store/walk.js";
import { plantingsInWalkOrder } from "../../store/queries.js";
import { countInWords, dayInWords, trialInWords } from "../../words.js";
import { wrongDay } from "../day_that_was.js";
import { cultivarName } from "../names.js";
import { noteWithUndo } from "../undo.js";
import { placeInWords } from "../walk/words.js";
import { noTrialScreen } from "../no_trial.js";

export function seasonEndScreen(context, { trial: trialId }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  const today = localDay(new Date());
  const day = element("input", { type: "date", id: freshId("removed-on"), value: today });
  const problem = element("p", { class: "field-problem", id: `${day.id}-problem`, "aria-live": "polite" });
  day.setAttribute("aria-describedby", problem.id);
  const refuse = (says) => {
    problem.textContent = says ?? "";
    if (!says) return day.removeAttribute("aria-invalid");
    day.setAttribute("aria-invalid", "true");
    day.focus();
  };
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
      element("div", { class: "field", "data-field": "removed_on" }, element("label", { for: day.id }, "Removed on"), day, problem),
      live(store, ["planting", "planter", "cultivar"], () => standing(context, trial, { day, left, refuse }), { class: "stack" }),
    ],
  };
}

function standing(context, trial, { day, left, refuse }) {
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
  const remove = button(words(), () => removeAll(context, chosen(), day.value, refuse), {
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

function plantedLater(plantings, day) {
  const later = plantings.filter(({ fields }) => fields.planted_on > day);
  if (!later.length) return null;
  return `${countInWords(later.length, "planting was", "plantings were")} planted after ${dayInWords(day)}: choose a later day, or untick ${later.length === 1 ? "it" : "them"}.`;
}

async function removeAll(context, plantings, day, refuse) {
  const says = wrongDay(day, { missing: "Say on which day they were removed." }) ?? plantedLater(plantings, day);
  refuse(says);
  if (says) return;
  const all = (value) => plantings.map(({ id }) => ({ kind: "planting", id, fields: { removed_on: value } }));
  await noteWithUndo(context, all(day), `${countInWords(plantings.length, "planting")} removed on ${dayInWords(day)}.`, all(null));
}
