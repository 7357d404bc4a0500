/** The care planned in a trial: what comes again every so many days, and for which plantings. */

import { button, element, link, live } from "../dom.js";
import { plansTogether } from "../../store/care.js";
import { countInWords, trialInWords } from "../../words.js";
import { noTrialScreen } from "../no_trial.js";
import { placeInWords } from "../walk/words.js";
import { deleteWithUndo } from "../undo.js";
import { planInWords, toDoInWords } from "./words.js";

const MOST_NAMED = 4;

export function carePlansScreen(context, { trial: trialId }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  return {
    title: "Planned care",
    nodes: [
      element("h1", {}, "Planned care"),
      element("p", { class: "quiet" }, trialInWords(trial)),
      live(store, ["care_plan", "planting", "planter", "cultivar"], () => list(context, trialId)),
      element(
        "div",
        { class: "action-bar" },
        link("#/care", { class: "secondary" }, "What is due"),
        link(`#/set-up/trials/${trialId}/care/new`, { class: "primary" }, "Plan care"),
      ),
    ],
  };
}

function list(context, trialId) {
  const { store } = context.journal;
  const together = plansTogether(store, trialId);
  if (!together.length)
    return element("p", {}, "Nothing is planned yet. Plan feeding, spraying or deadheading, and it is named when it is due.");
  return element(
    "ul",
    { class: "rows" },
    together.map((group) => element("li", {}, planRow(context, trialId, group))),
  );
}

function planRow(context, trialId, { plans, fields, forAll }) {
  const { store } = context.journal;
  const name = `${toDoInWords(fields.action)}${fields.product ? ` (${fields.product})` : ""}`;
  const whom = forAll ? "all of the trial" : whomInWords(store, plans);
  return element(
    "div",
    { class: "row" },
    element(
      "span",
      {},
      link(`#/set-up/trials/${trialId}/care/${plans[0].id}`, {}, name),
      `, ${planInWords(fields)}: `,
      element("span", { class: "quiet" }, [whom, fields.note].filter(Boolean).join(" · ")),
    ),
    button("Delete", () => deleteWithUndo(context, plans, `“${name}” is not planned any more.`), {
      "aria-label": `Delete: ${name}, ${whom}`,
      id: `delete-${plans[0].id}`,
    }),
  );
}

function whomInWords(store, plans) {
  const names = plans
    .map(({ fields }) => store.get("planting", fields.planting_id))
    .filter(Boolean)
    .map((planting) => placeInWords(store, planting));
  if (names.length <= MOST_NAMED) return names.join("; ");
  return `${countInWords(names.length, "planting")}: ${names.slice(0, MOST_NAMED - 1).join("; ")} and more`;
}
