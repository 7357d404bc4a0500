/** Planters in walking order, each with its plantings; moved up and down with buttons. */

import { button, element, link, live } from "../dom.js";
import { plantersInWalkOrder } from "../../store/queries.js";
import { reordered } from "../../store/walk.js";
import { inUnit } from "../../units.js";
import { dayInWords, trialInWords } from "../../words.js";
import { cultivarName, doubtMark } from "../names.js";
import { noTrialScreen } from "../no_trial.js";

export function plantersScreen(context, { trial: trialId }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  return {
    title: "Planters",
    nodes: [
      element("h1", {}, "Planters in walking order"),
      element("p", { class: "quiet" }, trialInWords(trial)),
      live(store, ["planter", "planting", "cultivar"], () => list(context, trialId)),
      element(
        "div",
        { class: "action-bar" },
        link(`#/set-up/plantings/new?trial=${trialId}`, { class: "secondary" }, "New planting"),
        link(`#/set-up/planters/new?trial=${trialId}`, { class: "primary" }, "New planter"),
      ),
    ],
  };
}

function list(context, trialId) {
  const planters = plantersInWalkOrder(context.journal.store, trialId);
  if (!planters.length)
    return element(
      "p",
      {},
      "No planters yet. ",
      link(`#/set-up/trials/${trialId}/list`, {}, "Enter plantings as a list"),
      " makes planters, cultivars and plantings at once.",
    );
  return element(
    "ol",
    { class: "planters" },
    planters.map((planter, at) => item(context, planters, planter, at)),
  );
}

function item(context, planters, planter, at) {
  const { store } = context.journal;
  const { name, planter_kind: kind, length_cm: length, exposure } = planter.fields;
  const plantings = store.all("planting").filter((planting) => planting.fields.planter_id === planter.id);
  const move = (by) => moveTo(context, planters, at, at + by);
  return element(
    "li",
    {},
    element(
      "div",
      { class: "name" },
      link(`#/set-up/planters/${planter.id}`, {}, name),
      element(
        "span",
        { class: "quiet" },
        [kind, length && inUnit(context.units.now.length, length), exposure].filter(Boolean).join(", "),
      ),
    ),
    element(
      "ul",
      {},
      plantings.map((planting) => element("li", {}, plantingWords(store, planting))),
    ),
    element(
      "div",
      { class: "ways" },
      button("Up", () => move(-1), {
        id: `up-${planter.id}`,
        "aria-label": `Move ${name} up`,
        disabled: at === 0,
      }),
      button("Down", () => move(1), {
        id: `down-${planter.id}`,
        "aria-label": `Move ${name} down`,
        disabled: at === planters.length - 1,
      }),
    ),
  );
}

function plantingWords(store, planting) {
  const { plants, planted_on: day, card_code: code } = planting.fields;
  const facts = [plants && `${plants} set out`, `planted ${dayInWords(day)}`, code].filter(Boolean).join(", ");
  return [
    link(
      `#/set-up/plantings/${planting.id}`,
      {},
      cultivarName(store.get("cultivar", planting.fields.cultivar_id)),
    ),
    doubtMark(planting),
    element("span", { class: "quiet" }, facts),
  ];
}

async function moveTo({ journal, notices }, planters, from, to) {
  const changes = reordered(planters, from, to);
  try {
    const refused = await journal.applyChanges(changes);
    notices.say(refused[0]?.message ?? `${planters[from].fields.name} is now number ${to + 1} on the walk.`);
  } catch (problem) {
    notices.say(problem.message);
  }
}
