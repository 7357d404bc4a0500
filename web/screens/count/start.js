/** Before a count: what it is for, how many points, who counts. */

import { button, element, freshId, link } from "../dom.js";
import { newId } from "../../store/ids.js";
import { layPoints } from "../../point_count/lay_points.js";
import { begin } from "../../point_count/counting.js";
import { localDay } from "../../store/walk.js";
import { roleNote } from "../role_note.js";
import { meanings } from "./classes.js";

/** How many, and half of the 90 % interval that follows for a share of one half, where it is widest (Wilson 1927). */
const NUMBERS = [
  [50, "± 11 % of the frame at most"],
  [100, "± 8 %"],
  [200, "± 6 %"],
];
const USUAL = 100;
const RATER = "rater";

/** @param {{polygon: [number, number][] | null}} frame @param {(draft: Object) => void} started */
export function startPart(context, photo, frame, started) {
  const { journal } = context;
  let number = USUAL;
  const choices = NUMBERS.map(([count, words]) => {
    const id = `points-${count}`;
    const input = element("input", { type: "radio", name: "points", id, value: count, checked: count === USUAL, onchange: () => (number = count) });
    return element("li", {}, element("label", { for: id, class: "pick-number" }, input, element("span", {}, element("b", {}, `${count} points`), " ", element("span", { class: "quiet" }, words))));
  });
  const who = whoCounts(journal);
  const problem = element("p", { class: "field-problem", role: "alert" });
  const start = () => {
    try {
      started(newDraft(photo, frame.polygon, number, who.name()));
    } catch (caught) {
      problem.textContent = `${caught.message} Draw the frame on this photo first; nothing was counted.`;
    }
  };
  const where = frame.polygon ? "in the frame" : "over the whole photo, as it has no frame,";
  return [
    roleNote(context, { helpersMay: true }),
    element(
      "p",
      {},
      `Points are laid at random ${where} and you say what lies under each. That gives an estimate of your own, to hold the method against.`,
    ),
    element("p", { class: "quiet" }, "What the method says is shown after the last point, so that it does not lead you."),
    element("fieldset", { class: "numbers-of-points" }, element("legend", {}, "How many points"), element("ul", {}, choices)),
    who.node,
    element("section", {}, element("h2", {}, "What counts as what"), meanings()),
    problem,
    element(
      "div",
      { class: "action-bar" },
      button("Start counting", start, { class: "primary", id: "start-count" }),
      link(`#/photos/${photo.id}`, { class: "secondary" }, "Not now"),
    ),
  ];
}

function newDraft(photo, polygon, number, countedBy) {
  const seed = crypto.getRandomValues(new Uint32Array(1))[0];
  const { width, height } = photo.fields;
  const points = layPoints({ seed, number, polygon, width, height });
  const { answers, at } = begin(number);
  const fields = {
    photo_id: photo.id,
    planting_id: photo.fields.planting_id ?? null,
    polygon,
    points,
    answers,
    seed,
    counted_by: countedBy || null,
    counted_on: localDay(new Date()),
    ended: false,
  };
  return { id: newId(), fields, at };
}

/** The same name as for ratings: it is said once on each phone. */
function whoCounts(journal) {
  const id = freshId("counter");
  const input = element("input", { id, type: "text", autocomplete: "off", maxlength: 60 });
  input.addEventListener("change", () => journal.device.set(RATER, input.value.trim()));
  journal.device.get(RATER).then((kept) => (input.value ||= kept ?? ""));
  const node = element("div", { class: "field" }, element("label", { for: id }, "Who counts (may stay empty)"), input);
  return { node, name: () => input.value.trim() };
}
