/** The order of the walk, changed on the walk: planters moved up and down with buttons. */

import { button, element } from "../dom.js";
import { plantersInWalkOrder } from "../../store/queries.js";
import { reordered } from "../../store/walk.js";

export function orderList(context, trialId) {
  const planters = plantersInWalkOrder(context.journal.store, trialId);
  return element(
    "ol",
    { class: "order", "aria-label": "Planters in walking order" },
    planters.map((planter, at) => orderRow(context, planters, planter, at)),
  );
}

function orderRow({ journal, notices }, planters, planter, at) {
  const { name } = planter.fields;
  const move = async (by) => {
    try {
      await journal.note(reordered(planters, at, at + by));
      notices.say(`${name} is now number ${at + by + 1} on the walk.`);
    } catch (problem) {
      notices.say(problem.message);
    }
  };
  const way = (word, by, isEnd) =>
    button(word, () => move(by), {
      id: `${word}-${planter.id}`.toLowerCase(),
      "aria-label": `Move ${name} ${word.toLowerCase()}`,
      disabled: isEnd,
    });
  return element(
    "li",
    {},
    element("span", { class: "name" }, `${at + 1}. ${name}`),
    element("div", { class: "ways" }, way("Up", -1, at === 0), way("Down", 1, at === planters.length - 1)),
  );
}
