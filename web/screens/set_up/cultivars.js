/** All cultivars of the journal. */

import { element, link, live } from "../dom.js";
import { grownInWords } from "../../store/queries.js";
import { cultivarInWords } from "../../words.js";
import { cultivarName } from "../names.js";
import { swatch } from "../numbers.js";

export function cultivarsScreen({ journal }) {
  const { store } = journal;
  return {
    title: "Cultivars",
    nodes: [
      element("h1", {}, "Cultivars"),
      live(store, ["cultivar", "planting", "trial"], () => list(store)),
      element(
        "div",
        { class: "action-bar" },
        link("#/set-up/cultivars/new", { class: "primary" }, "New cultivar"),
      ),
    ],
  };
}

function list(store) {
  const cultivars = store
    .all("cultivar")
    .sort((a, b) => cultivarInWords(a).localeCompare(cultivarInWords(b)));
  if (!cultivars.length)
    return element("p", {}, "No cultivars yet. Entering plantings as a list makes them too.");
  return element(
    "ul",
    { class: "rows" },
    cultivars.map((cultivar) =>
      element(
        "li",
        {},
        link(`#/set-up/cultivars/${cultivar.id}`, { class: "row" }, cultivarName(cultivar), facts(store, cultivar)),
      ),
    ),
  );
}

function facts(store, cultivar) {
  const { bloom_colours: bloom, standard, foliage_only: leaves, earlier_names: earlier } = cultivar.fields;
  const called = earlier?.length && `called ${earlier.join(", ")} before`;
  const grown = grownInWords(store, cultivar.id);
  const words = [standard && "standard", leaves && "for its leaves", grown, called].filter(Boolean).join(", ");
  return element("span", { class: "quiet" }, words, " ", (bloom ?? []).map(swatch));
}
