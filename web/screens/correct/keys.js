/** The same by keyboard: arrows move the brush, Space sets it down and lifts it. Knows nothing of strokes. */

import { CLASSES, SIZES } from "./brushes.js";

const STEP_PX = 6;
const ENLARGE = 1.25;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export const KEYS_IN_WORDS =
  "By keyboard: arrow keys move the brush, with Shift in larger steps; Space sets it down and lifts it; 1 to 4 choose what is painted, " +
  "[ and ] the brush; plus, minus and 0 enlarge, shrink and fit; Control Z and Control Y undo and redo.";

/**
 * @param {HTMLElement} stage
 * @param {{step: (dx: number, dy: number) => void, toggle: () => void, lift: () => void, enlarge: (factor: number) => void,
 *   fit: () => void, choose: (name: string) => void, size: (by: number) => void, undo: () => void, redo: () => void}} does
 */
export function listenToKeys(stage, does) {
  stage.addEventListener("keydown", (event) => {
    const done = event.ctrlKey || event.metaKey ? withControl(event, does) : plain(event, does);
    if (done) event.preventDefault();
  });
}

function withControl(event, does) {
  const key = event.key.toLowerCase();
  if (key === "z") return called(event.shiftKey ? does.redo : does.undo);
  if (key === "y") return called(does.redo);
  return false;
}

function plain(event, does) {
  const arrow = ARROWS[event.key];
  const step = STEP_PX * (event.shiftKey ? 5 : 1);
  if (arrow) return called(() => does.step(arrow[0] * step, arrow[1] * step));
  const number = Number(event.key);
  if (number >= 1 && number <= CLASSES.length) return called(() => does.choose(CLASSES[number - 1].name));
  const others = {
    " ": does.toggle,
    Enter: does.toggle,
    Escape: does.lift,
    "+": () => does.enlarge(ENLARGE),
    "=": () => does.enlarge(ENLARGE),
    "-": () => does.enlarge(1 / ENLARGE),
    0: does.fit,
    "[": () => does.size(-1),
    "]": () => does.size(1),
  };
  return others[event.key] ? called(others[event.key]) : false;
}

function called(does) {
  does();
  return true;
}

export const nextSize = (size, by) => Math.min(Math.max(size + by, 0), SIZES.length - 1);
