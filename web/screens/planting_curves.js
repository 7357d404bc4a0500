/** The curves of one planting, which come in one answer: it is what is kept for when there is no signal. */

import { element, redraw } from "./dom.js";
import { asOf, figureOf } from "./figure.js";
import { curvesAddress, figureWidth } from "../store/season_addresses.js";

const CURVES = [
  ["canopy_fill", "Canopy fill"],
  ["bloom_cover", "Bloom cover"],
  ["spent_share", "Spent bloom"],
  ["flower_to_leaf", "Flower to leaf"],
  ["evenness", "Evenness"],
  ["colour", "Bloom colour"],
];
const OF_LEAVES = ["canopy_fill", "evenness"];

/** @param {import("../sync/server.js").Server} server @param {string} plantingId @param {boolean} foliageOnly of what is grown for its leaves no flowers are drawn */
export function plantingCurves(server, plantingId, foliageOnly) {
  const curves = CURVES.filter(([of]) => !foliageOnly || OF_LEAVES.includes(of));
  const age = element("div", {});
  let asking = null;
  const answer = (width) => {
    asking ??= ask(server, plantingId, width, age).catch((problem) => {
      asking = null;
      throw problem;
    });
    return asking;
  };
  const one = ([of, title]) =>
    figureOf({
      title,
      id: of,
      draw: async (width) => ({ svg: (await answer(width)).get(of).svg }),
      table: async () => (await answer(figureWidth())).get(of).table,
    });
  return [age, element("div", { class: "curves" }, curves.map(one))];
}

async function ask(server, plantingId, width, age) {
  const { answer, keptSince } = await server.getDated(curvesAddress(plantingId, width));
  redraw(age, asOf(keptSince));
  return new Map(answer.curves.map((curve) => [curve.of, curve]));
}
