/** The polygon over the picture, moved by finger, mouse or arrow keys. Knows nothing of records. */

import { button, element, redraw, svgElement } from "./dom.js";
import { Loupe } from "./loupe.js";
import { distance, insertAt, nearestEdge } from "./polygon.js";

const STEP_SHARE = 0.002;

/**
 * @param {Object} photo record
 * @param {[number, number][]} start corners in displayed pixels
 * @returns {{node: Node, tools: Node, polygon: () => [number, number][]}}
 */
export function frameEditor(photo, start) {
  return new FrameEditor(photo, start);
}

class FrameEditor {
  #history = [];
  #corners;
  #chosen = 0;

  constructor(photo, start) {
    const { width, height } = photo.fields;
    Object.assign(this, { width, height });
    this.#corners = start;
    this.image = element("img", {
      src: `/api/photos/${photo.id}/picture?size=screen`,
      alt: "The photo on which the frame is drawn",
      width,
      height,
      draggable: "false",
    });
    this.svg = svgElement("svg", {
      class: "outline editable",
      viewBox: `0 0 ${width} ${height}`,
      role: "group",
      "aria-label": "Corners of the frame; arrow keys move the one in focus",
    });
    this.loupe = new Loupe(this.image, width, height);
    const stage = element("div", { class: "stage" }, this.image, this.svg, this.loupe.node);
    stage.style.setProperty("--shape", `${width} / ${height}`);
    this.node = element("figure", { class: "picture drawing-frame" }, stage);
    this.undoButton = button("Undo", () => this.#undo(), { id: "undo-corner" });
    this.deleteButton = button("Delete corner", () => this.#deleteChosen(), { id: "delete-corner" });
    this.tools = element("div", { class: "ways" }, this.undoButton, this.deleteButton);
    this.svg.addEventListener("pointerdown", (event) => this.#down(event));
    this.svg.addEventListener("keydown", (event) => this.#key(event));
    this.svg.addEventListener("focusin", (event) => this.#choose(Number(event.target.dataset.corner)));
    this.#draw();
  }

  polygon() {
    return this.#corners.map(([x, y]) => [Math.round(x * 10) / 10, Math.round(y * 10) / 10]);
  }

  #remember() {
    this.#history.push(this.#corners.map(([x, y]) => [x, y]));
  }

  #undo() {
    this.#corners = this.#history.pop() ?? this.#corners;
    this.#chosen = Math.min(this.#chosen, this.#corners.length - 1);
    this.#draw();
  }

  #deleteChosen() {
    if (this.#corners.length <= 3) return;
    this.#remember();
    this.#corners.splice(this.#chosen, 1);
    this.#chosen = Math.min(this.#chosen, this.#corners.length - 1);
    this.#draw();
  }

  #choose(index) {
    if (Number.isNaN(index)) return;
    this.#chosen = index;
    for (const corner of this.svg.querySelectorAll(".corner"))
      corner.classList.toggle("chosen", Number(corner.dataset.corner) === index);
  }

  #toPhoto(event) {
    const box = this.svg.getBoundingClientRect();
    return [
      ((event.clientX - box.left) / box.width) * this.width,
      ((event.clientY - box.top) / box.height) * this.height,
    ];
  }

  #down(event) {
    event.preventDefault();
    const at = this.#toPhoto(event);
    const reach = (30 / this.svg.getBoundingClientRect().width) * this.width;
    let index = this.#corners.findIndex((corner) => distance(corner, at) < reach);
    this.#remember();
    if (index < 0) {
      index = nearestEdge(this.#corners, at) + 1;
      this.#corners = insertAt(this.#corners, index, at);
    }
    this.#chosen = index;
    this.#draw();
    this.#cornerNode(index).focus({ preventScroll: true });
    this.#drag(event.pointerId, index, at);
  }

  /** The corner keeps its distance from the finger, so that it neither jumps nor hides under it. */
  #drag(pointerId, index, from) {
    const grip = this.#corners[index].map((value, axis) => value - from[axis]);
    const move = (event) => {
      if (event.pointerId !== pointerId) return;
      const at = this.#toPhoto(event);
      this.#moveTo(index, [at[0] + grip[0], at[1] + grip[1]]);
      this.loupe.show(this.#corners[index]);
    };
    const end = (event) => {
      if (event.pointerId !== pointerId) return;
      this.loupe.hide();
      for (const [name, listener] of listeners) removeEventListener(name, listener);
    };
    const listeners = [
      ["pointermove", move],
      ["pointerup", end],
      ["pointercancel", end],
    ];
    for (const [name, listener] of listeners) addEventListener(name, listener);
    this.loupe.show(this.#corners[index]);
  }

  #key(event) {
    const direction = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[
      event.key
    ];
    if (event.key === "Delete" || event.key === "Backspace") {
      event.preventDefault();
      this.#deleteChosen();
      this.#cornerNode(this.#chosen).focus();
    }
    if (!direction) return;
    event.preventDefault();
    if (!event.repeat) this.#remember();
    const step = this.width * STEP_SHARE * (event.shiftKey ? 10 : 1);
    const [x, y] = this.#corners[this.#chosen];
    this.#moveTo(this.#chosen, [x + direction[0] * step, y + direction[1] * step]);
  }

  #moveTo(index, [x, y]) {
    this.#corners[index] = [Math.min(Math.max(x, 0), this.width), Math.min(Math.max(y, 0), this.height)];
    this.#place();
  }

  #cornerNode(index) {
    return this.svg.querySelector(`[data-corner="${index}"]`);
  }

  /** Makes the nodes anew; needed only when the number of corners changes. */
  #draw() {
    const radius = this.width / 60;
    const corner = (_, index) =>
      svgElement(
        "g",
        {
          class: "corner",
          "data-corner": index,
          tabindex: 0,
          role: "button",
          "aria-label": `Corner ${index + 1}`,
        },
        svgElement("circle", { class: "under", r: radius }),
        svgElement("circle", { class: "over", r: radius }),
      );
    redraw(
      this.svg,
      svgElement("polygon", { class: "under" }),
      svgElement("polygon", { class: "over" }),
      this.#corners.map(corner),
    );
    this.#place();
    this.#choose(this.#chosen);
  }

  #place() {
    const points = this.#corners.map(([x, y]) => `${x},${y}`).join(" ");
    for (const polygon of this.svg.querySelectorAll("polygon")) polygon.setAttribute("points", points);
    this.#corners.forEach(([x, y], index) =>
      this.#cornerNode(index).setAttribute("transform", `translate(${x} ${y})`),
    );
    this.undoButton.disabled = !this.#history.length;
    this.deleteButton.disabled = this.#corners.length <= 3;
  }
}
