/** Two photos of one place: the later one over the earlier one up to a line that is dragged or moved by keys. */

import { element, freshId } from "../dom.js";

const HALF = 50;

/**
 * @param {{address: string, words: string, width: number, height: number}} first
 * @param {{address: string, words: string}} second of the same size and place
 * @param {() => void} failed what to do when a picture does not come
 */
export function photoSlider(first, second, failed) {
  const id = freshId("line");
  const under = element("img", { src: first.address, alt: `Earlier: ${first.words}`, onerror: failed });
  const over = element("img", { src: second.address, alt: `Later: ${second.words}`, class: "later", onerror: failed });
  const stage = element(
    "div",
    { class: "stage sliding" },
    under,
    over,
    element("span", { class: "line", "aria-hidden": "true" }),
    element("span", { class: "date-of earlier", "aria-hidden": "true" }, first.words),
    element("span", { class: "date-of later-date", "aria-hidden": "true" }, second.words),
  );
  stage.style.setProperty("--shape", `${first.width} / ${first.height}`);
  const range = element("input", { type: "range", id, min: 0, max: 100, step: 1, value: HALF });
  const move = (share) => {
    const at = Math.min(100, Math.max(0, Math.round(share)));
    range.value = at;
    range.setAttribute("aria-valuetext", `${at} % earlier, ${100 - at} % later`);
    stage.style.setProperty("--at", `${at}%`);
  };
  range.addEventListener("input", () => move(Number(range.value)));
  dragAcross(stage, move);
  move(HALF);
  return element(
    "div",
    { class: "slider" },
    stage,
    element("div", { class: "slide" }, element("label", { for: id }, "Earlier to the left, later to the right"), range),
  );
}

/** The line follows a finger or the mouse; moving up and down still scrolls the page. */
function dragAcross(stage, move) {
  const at = (event) => {
    const box = stage.getBoundingClientRect();
    move((100 * (event.clientX - box.left)) / box.width);
  };
  stage.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    event.preventDefault();
    stage.setPointerCapture(event.pointerId);
    at(event);
  });
  stage.addEventListener("pointermove", (event) => stage.hasPointerCapture(event.pointerId) && at(event));
}

/** Both photos as they were taken, one beside the other; small where the large one is not kept and the server is away. */
export function sideBySide(first, second) {
  const one = ({ address, small, words, width, height }, when) => {
    const image = element("img", { src: address, alt: `${when}: ${words}` });
    image.addEventListener("error", () => (image.src = small), { once: true });
    const stage = element("div", { class: "stage" }, image);
    stage.style.setProperty("--shape", `${width} / ${height}`);
    return element("figure", { class: "picture" }, stage, element("figcaption", {}, words));
  };
  return element("div", { class: "beside" }, one(first, "Earlier"), one(second, "Later"));
}
