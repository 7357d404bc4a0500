/** One line at the bottom that says what just happened, with a way back. Read out by screen readers. */

import { button, element, redraw } from "./dom.js";

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
  const say = (text, undo = null) => {
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
