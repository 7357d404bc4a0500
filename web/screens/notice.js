/** One line at the bottom that says what just happened, with a way back. Read out by screen readers. */

import { button, element, redraw } from "./dom.js";

/** One that offers a way back stays until the person goes on. */
const GOES_AFTER_MS = 8000;

export function noticeLine() {
  const words = element("p", { role: "status", "aria-live": "polite" });
  const ways = element("div", { class: "ways" });
  const node = element("div", { class: "notice", hidden: true }, words, ways);
  let saidOnThisScreen = false;

  const clear = () => {
    node.hidden = true;
    words.textContent = "";
    redraw(ways);
  };
  let going;
  const say = (text, undo = null) => {
    clearTimeout(going);
    if (!undo) going = setTimeout(clear, GOES_AFTER_MS);
    saidOnThisScreen = true;
    node.hidden = false;
    words.textContent = text;
    const undoNow = () => {
      clear();
      undo();
    };
    redraw(ways, undo && button("Undo", undoNow), button("Close", clear));
  };
  /** A notice is still shown on the screen that follows it, and goes with the one after. */
  const screenChanged = () => {
    if (!saidOnThisScreen) clear();
    saidOnThisScreen = false;
  };
  return { node, say, screenChanged };
}
