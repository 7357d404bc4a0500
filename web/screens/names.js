/** Names of cultivars and plantings as nodes: Latin in italics, the cultivar name in single quotes. */

import { cultivarWords } from "../words.js";
import { element, link } from "./dom.js";

export { cultivarWords };

export function cultivarName(cultivar) {
  if (!cultivar) return element("span", {}, "Cultivar not known");
  const { genus, species, name } = cultivar.fields;
  const latin = [genus, species].filter(Boolean).join(" ");
  return element(
    "span",
    { class: "cultivar" },
    latin && element("i", {}, latin),
    latin && " ",
    name && `‘${name}’`,
  );
}

/** @param {ReturnType<import("../store/queries.js").describePlanting>} known */
export function plantingLink(known) {
  if (!known) return element("span", {}, "no planting");
  return link(
    `#/plantings/${known.planting.id}`,
    {},
    cultivarName(known.cultivar),
    [", ", known.planter?.fields.name ?? "no planter", known.season && `, ${known.season}`],
  );
}

export function doubtMark(planting) {
  return planting.fields.identity === "doubtful"
    ? element("span", { class: "mark" }, "Identity doubtful")
    : null;
}
