/** What is seen at the planting, one tap each; a second tap takes it back. */

import { button, element, live } from "../dom.js";
import { newId } from "../../store/ids.js";
import { FINDINGS, FINDINGS_OF_ONE_PLANT, livingPlants } from "../../store/walk.js";
import { capital } from "../../words.js";

const PLANTS_WHEN_NOT_SAID = 7;
const MOST_BUTTONS = 24;

export function findingsPart({ visit, told }) {
  const draw = () => {
    const noted = visit.all("finding");
    return [
      element(
        "div",
        { class: "toggles", role: "group", "aria-label": "Findings" },
        FINDINGS.map((what) => toggle(visit, told, what, noted)),
      ),
      FINDINGS_OF_ONE_PLANT.map((what) => whichPlant(visit, told, noted.find(({ fields }) => fields.what === what))),
    ];
  };
  return live(visit.store, ["finding", "plant_count"], draw, { class: "visit-group" });
}

function toggle(visit, told, what, noted) {
  const of = (findings) => findings.filter(({ fields }) => fields.what === what);
  const flip = () => {
    let says = "";
    const work = () => {
      const standing = of(visit.all("finding"));
      says = standing.length ? `Taken back: ${what}.` : `Noted: ${what}.`;
      return visit.note(standing.length ? standing.map(takenBack) : [newFinding(visit, what)]);
    };
    return told.keep(work, () => says);
  };
  return button(capital(what), flip, {
    id: `finding-${what.replaceAll(" ", "-")}`,
    "aria-pressed": String(of(noted).length > 0),
  });
}

function newFinding(visit, what) {
  const fields = { visit_id: visit.id, planting_id: visit.plantingId, found_on: visit.day, what };
  return { kind: "finding", id: newId(), fields };
}

const takenBack = ({ kind, id }) => ({ kind, id, delete: true });

/** Asked only once it is noted, so that one tap is enough where the plant does not matter. */
function whichPlant(visit, told, finding) {
  if (!finding) return null;
  const { what, plant } = finding.fields;
  const plants = Math.min(livingPlants(visit.store, visit.planting) || PLANTS_WHEN_NOT_SAID, MOST_BUTTONS);
  const choose = (number) => {
    const chosen = number === plant ? null : number;
    const says = chosen ? `Noted: ${what}, plant ${chosen}.` : `Noted: ${what}.`;
    return told.keep(() => visit.note([{ kind: "finding", id: finding.id, fields: { plant: chosen } }]), says);
  };
  const words = `Which plant? (${what}; counted from the left)`;
  return element(
    "div",
    { class: "which", role: "group", "aria-label": words },
    element("p", {}, words),
    element(
      "div",
      { class: "numbers-row" },
      Array.from({ length: plants }, (_, at) =>
        button(String(at + 1), () => choose(at + 1), {
          id: `plant-${finding.id}-${at + 1}`,
          "aria-label": `Plant ${at + 1}`,
          "aria-pressed": String(plant === at + 1),
        }),
      ),
    ),
  );
}
