/** The fields of each kind of record as a person fills them in. What they accept is decided by the server. */

const either = (...words) => [["", "not said"], ...words.map((word) => [word, word])];

export const EXPOSURES = ["full sun", "part shade", "shade"];

export const PLANTER_KINDS = ["trough", "wall rack", "pot", "hanging basket", "bed"].map((word) => [word, word]);

const TRIAL = [
  { name: "title", label: "Title", help: "For example: Terrace troughs" },
  { name: "year", label: "Year", type: "whole" },
  { name: "site", label: "Place" },
  { name: "note", label: "Note", type: "long" },
];

const CULTIVAR = [
  { name: "genus", label: "Genus", help: "For example: Petunia" },
  { name: "species", label: "Species or group" },
  { name: "name", label: "Cultivar name", help: "Without quotes" },
  {
    name: "bloom_colours",
    label: "Declared bloom colours",
    type: "colours",
    help: "As breeder or label show them; they help to tell bloom from leaf",
  },
  { name: "foliage_colours", label: "Declared foliage colours", type: "colours" },
  { name: "habit", label: "Habit", options: either("mounding", "trailing", "upright", "spreading") },
  { name: "foliage_only", label: "Grown for its leaves only", type: "yes" },
  { name: "standard", label: "Standard: others are judged against it", type: "yes" },
  { name: "introduced", label: "Year of introduction", type: "whole" },
  { name: "note", label: "Note", type: "long" },
];

const planter = ({ length }) => [
  { name: "name", label: "Name", help: "As you call it on the walk" },
  {
    name: "planter_kind",
    label: "Kind",
    options: PLANTER_KINDS,
  },
  { name: "length_cm", label: `Length in ${length.unit}`, type: "number", measure: length },
  { name: "exposure", label: "Exposure", options: either(...EXPOSURES) },
  { name: "afternoon_shade", label: "Shade in the afternoon", type: "yes" },
  { name: "wind", label: "Windy place", type: "yes" },
  { name: "irrigation", label: "Irrigation", options: either("drip", "hand", "none") },
  { name: "note", label: "Note", type: "long" },
];

const isDoubtful = (values) => values.identity === "doubtful";

const planting = (planters, cultivars) => [
  {
    name: "cultivar_id",
    label: "Cultivar",
    help: "One that is not in the list is added under Set-up, Cultivars",
    options: [["", "choose"], ...cultivars],
  },
  { name: "planter_id", label: "Planter", options: [["", "choose"], ...planters] },
  { name: "planted_on", label: "Planted on", type: "day" },
  {
    name: "plants",
    label: "Plants set out",
    type: "whole",
    help: "How many live since is counted on the planting's own screen or on the walk",
  },
  { name: "removed_on", label: "Removed on", type: "day", help: "Leave empty while it stands" },
  {
    name: "identity",
    label: "Identity",
    options: [
      ["confirmed", "confirmed"],
      ["doubtful", "doubtful"],
    ],
  },
  { name: "label_said", label: "The label said", showIf: isDoubtful },
  { name: "looks_like", label: "It looks like", showIf: isDoubtful },
  {
    name: "card_code",
    label: "Card code",
    type: "card_code",
    help: "Made by the journal when left empty; the code of a spare card goes in here",
  },
  { name: "note", label: "Note", type: "long" },
];

/**
 * @param {string} kind @param {{planters: [string, string][], cultivars: [string, string][]}} lists
 * @param {import("../../units.js").Units} units
 */
export function fieldsOf(kind, lists, units) {
  return {
    trial: TRIAL,
    cultivar: CULTIVAR,
    planter: planter(units),
    planting: planting(lists.planters, lists.cultivars),
  }[kind];
}
