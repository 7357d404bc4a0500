/** Each of those compared: its rank and value, ties, the standard, survival, growth, off-type flowers. */

import { element, link } from "../dom.js";
import { capital, countInWords } from "../../words.js";
import { copyable } from "../copy/copyable.js";

/** @param {Object} answer of `/api/compare/plantings` */
export function groupList({ groups, ranks, unknown, standard }) {
  const order = [...ranks.map(({ key }) => key), ...unknown.map(({ key }) => key)];
  const reasons = new Map(unknown.map(({ key, reason }) => [key, reason]));
  const sorted = [...groups].sort((a, b) => order.indexOf(a.key) - order.indexOf(b.key));
  return element(
    "ul",
    { class: "compared" },
    sorted.map((group) => item(group, reasons.get(group.key), group.key === standard)),
  );
}

function item(group, reason, isStandard) {
  const name = group.plantings.length === 1 ? link(`#/plantings/${group.plantings[0]}`, {}, group.label) : group.label;
  return element(
    "li",
    {},
    element("span", { class: "rank" }, group.rank ?? "–"),
    element(
      "div",
      {},
      element("p", {}, element("b", {}, name), isStandard && " (the standard)"),
      element("p", {}, group.value ? copyable(group.value, group.label, group.quotes?.value) : element("span", { class: "quiet" }, reason)),
      lines(group).map(([words, quote]) => element("p", { class: "quiet" }, copyable(words, group.label, quote))),
    ),
  );
}

function meanOf({ measured, plantings }) {
  if (measured === 0) return null;
  const all = countInWords(plantings.length, "planter");
  if (measured === plantings.length) return `Mean of ${all}.`;
  return measured === 1 ? `From one of ${all}; the others were not measured then.` : `Mean of ${measured} of ${all}; the others were not measured then.`;
}

function lines(group) {
  return [
    [group.tied_words && `Tied with ${group.tied_words}.`],
    [group.against_standard && `Against the standard: ${group.against_standard}.`, group.quotes?.against_standard],
    [group.plantings.length > 1 && meanOf(group)],
    ...group.growth.map((words, at) => [words, group.growth_quotes?.[at]]),
    [capital(`${group.survival_words}.`), group.quotes?.survival],
    [group.off_type_flowers && `${countInWords(group.off_type_flowers, "off-type flower")} found.`],
  ].filter(([words]) => words);
}
