/** What went wrong, in words, with a way on. */

import { button, element } from "./dom.js";

/** @param {Error} problem @param {() => void} [again] */
export function problemNote(problem, again) {
  return element(
    "div",
    { class: "problem", role: "alert" },
    element("p", {}, problem.message),
    again && button("Try again", again),
  );
}
