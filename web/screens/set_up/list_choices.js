/** How a list of plantings is to be read: what its columns hold, and what holds for rows that do not say. */

import { element } from "../dom.js";
import { columnChoices, dateOrderChoice, dayField, selectField, textField, tickField } from "../file_in/choices.js";
import { PLANTER_KINDS } from "./fields.js";

const MAIN = [
  ["cultivar", "Cultivar"],
  ["genus", "Genus"],
  ["plants", "Plants"],
  ["planter", "Planter"],
  ["planted_on", "Planted on"],
];
const MORE = [
  ["exposure", "Exposure"],
  ["species", "Species or group"],
  ["planter_kind", "Kind of planter"],
  ["bloom_colours", "Bloom colours"],
  ["foliage_colours", "Foliage colours"],
  ["card_code", "Card code"],
  ["note", "Note"],
];
/** What each field of a planting is called, by its name. */
export const LIST_FIELDS = Object.fromEntries([...MAIN, ...MORE]);

/** @param {Object} answer what the server read @param {Object} chosen by the person so far @param {(choices: Object) => void} tell */
export function listChoices(answer, chosen, tell) {
  const { choices } = answer;
  const { genus, planter } = choices.columns;
  return element(
    "section",
    { class: "file-choices" },
    element("h2", {}, "What the columns hold"),
    tickField("The first line is a heading", choices.has_headings, (value) => tell({ has_headings: value, columns: null })),
    columnChoices(answer, MAIN, tell),
    dateOrderChoice(answer, tell),
    element("details", { id: "more-columns" }, element("summary", {}, "More columns"), columnChoices(answer, MORE, tell)),
    element("h2", {}, "Where the list does not say"),
    dayField("Planted on, where a row does not say", chosen.planted_on, (value) => tell({ planted_on: value || null })),
    textField(
      "Genus, where a row does not say",
      chosen.genus,
      (value) => tell({ genus: value || null }),
      genus === null ? "Left empty, it is taken from the name: Petunia ‘Plum Lamp’." : null,
    ),
    textField(
      "New planters are called",
      choices.planter_name,
      (value) => tell({ planter_name: value || null, planter_kind: null }),
      planter === null ? "Each row gets one of its own, numbered." : "Where a row names none, it gets one of its own, numbered.",
    ),
    selectField("They are of the kind", PLANTER_KINDS, choices.planter_kind, (value) => tell({ planter_kind: value })),
    tickField("Plant once more what stands in the trial from that day already", chosen.again, (value) => tell({ again: value })),
  );
}
