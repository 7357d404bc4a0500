/** What went wrong, in words, with a way on. */

import { button, element, link } from "./dom.js";

/** @param {Error & {status?: number}} problem @param {() => void} [again] */
export function problemNote(problem, again) {
  const isShutOut = problem.status === 401;
  return element(
    "div",
    { class: "problem", role: "alert" },
    element("p", {}, problem.message),
    isShutOut && link("#/pair", { class: "secondary" }, "Pair this phone"),
    again && !isShutOut && button("Try again", again),
  );
}
