/** What anyone who sprays is told to mind. Common practice, no source. No dose is ever given. */

import { element } from "../dom.js";

const BEFORE_SPRAYING = [
  "The product’s label decides: what it may be used on, how, and how often.",
  "Not on open bloom while bees fly; evening is better.",
  "Keep pets and children away until it is dry.",
  "Local rules may forbid it here. A licensed applicator or the local extension office knows.",
];

export const sprayCautions = () =>
  element(
    "ul",
    { class: "cautions" },
    BEFORE_SPRAYING.map((words) => element("li", {}, words)),
  );
