/** The buttons under the photo: what is painted, how wide, back and forth. */

import { button, element } from "../dom.js";
import { CLASSES, SIZES } from "./brushes.js";

/** @param {import("./easel.js").Easel} easel @param {import("./strokes.js").Painting} painting */
export function paintTools(easel, painting) {
  const classes = CLASSES.map(({ name, words, patch }) =>
    withContent(
      button("", () => easel.choose({ name }), { id: `paint-${name}` }),
      element("span", { class: `class-patch ${patch}`, "aria-hidden": "true" }),
      element("span", {}, words),
    ),
  );
  const sizes = SIZES.map(({ words }, size) =>
    withContent(
      button("", () => easel.choose({ size }), { id: `brush-${words.toLowerCase()}` }),
      element("span", { class: `brush-dot size-${size}`, "aria-hidden": "true" }),
      element("span", {}, words),
    ),
  );
  const undo = button("Undo", () => easel.undo(), { id: "undo-stroke" });
  const redo = button("Redo", () => easel.redo(), { id: "redo-stroke" });
  const clear = button("Take all back", () => easel.clear(), { id: "clear-strokes" });
  const node = element(
    "div",
    { class: "paint-tools" },
    element("div", { class: "paint-classes", role: "group", "aria-label": "What is painted" }, classes),
    element("div", { class: "paint-brushes", role: "group", "aria-label": "Brush" }, sizes),
    element("div", { class: "paint-steps" }, undo, redo, clear),
  );
  const update = () => {
    CLASSES.forEach(({ name }, at) => press(classes[at], easel.brush.name === name));
    SIZES.forEach((_, at) => press(sizes[at], easel.brush.size === at));
    undo.disabled = !painting.canUndo;
    redo.disabled = !painting.canRedo;
    clear.disabled = !painting.strokes.length;
  };
  update();
  return { node, update };
}

/** How the photo is looked at; with two fingers or the wheel the same without buttons. */
export function viewTools(easel, hasOverlay) {
  const flip = (event) => {
    const alone = event.currentTarget.getAttribute("aria-pressed") !== "true";
    press(event.currentTarget, alone);
    easel.showCounted(!alone);
  };
  return element(
    "div",
    { class: "paint-view", role: "group", "aria-label": "View" },
    hasOverlay && button("Photo only", flip, { id: "photo-only", "aria-pressed": "false" }),
    button("Closer", () => easel.zoom(1.6), { id: "closer" }),
    button("Farther", () => easel.zoom(1 / 1.6), { id: "farther" }),
    button("All of it", () => easel.fit(), { id: "fit" }),
  );
}

const press = (node, on) => node.setAttribute("aria-pressed", String(on));

function withContent(node, ...children) {
  node.append(...children);
  return node;
}
