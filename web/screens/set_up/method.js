/** How photos are measured: the method's name and, after an update of it, by how much the numbers moved. */

import { element, link, redraw } from "../dom.js";
import { problemNote } from "../problem.js";
import { countInWords } from "../../words.js";

const NUMBERS = { canopy_fill: "Canopy fill", bloom_cover: "Bloom cover", spent_share: "Spent bloom" };

export function methodPart(server) {
  const place = element("div", { class: "stack" }, element("p", { class: "quiet" }, "Reading …"));
  fill(server, place);
  return element("section", { id: "method" }, element("h2", {}, "How photos are measured"), place);
}

async function fill(server, place) {
  try {
    redraw(place, said(await server.getJson("/api/method-change")));
  } catch (problem) {
    redraw(
      place,
      problemNote(problem, () => fill(server, place)),
    );
  }
}

function said({ method, before, photos, changes }) {
  const name = element("p", {}, `By the method “${method}”. What it is and how far to trust it is in the README.`);
  if (!changes) return name;
  const compared = Object.keys(NUMBERS).filter((number) => changes[number]);
  const moved = compared.map((number) =>
    element(
      "li",
      {},
      isAsBefore(changes[number])
        ? `${NUMBERS[number]} is as before.`
        : [movedInWords(number, changes[number]), link(`#/photos/${changes[number].most_photo_id}`, {}, changes[number].most_photo), "."],
    ),
  );
  const words = `It was updated (before: ${before.join(", ")}). Of ${countInWords(photos, "photo")} measured by both:`;
  return [name, element("div", {}, element("p", {}, words), element("ul", { class: "rows" }, moved))];
}

/** Whether nothing would be seen to have moved, in tenths of a point. */
const isAsBefore = ({ most }) => Math.abs(most) < 0.0005;

function movedInWords(number, change) {
  const points = (share) => `${(Math.abs(share) * 100).toFixed(1)} points`;
  const way = change.most > 0 ? "up" : "down";
  return `${NUMBERS[number]} moved by ${points(change.mean_size)} on average, most ${points(change.most)} ${way} at `;
}
