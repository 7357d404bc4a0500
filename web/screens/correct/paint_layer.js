/** Draws strokes as the class map will show them, sharp at every enlargement. */

import { greyPattern, OUTLINE, tintPattern } from "./brushes.js";

const OUTLINE_PX = 1.5;
const FRAME_LINES = [
  ["#000", 3.5],
  ["#fff", 1.75],
];

export class PaintLayer {
  #grey = null;
  #tints = new Map();
  #paths = new WeakMap();

  /** @param {HTMLCanvasElement} canvas @param {import("./view.js").View} view @param {HTMLImageElement} image the photo */
  constructor(canvas, view, image) {
    Object.assign(this, { canvas, view, image });
    this.pen = canvas.getContext("2d");
  }

  /** As large as the stage, in the pixels of the screen. */
  resize(width, height, pixelRatio) {
    this.pixelRatio = pixelRatio;
    this.canvas.width = Math.round(width * pixelRatio);
    this.canvas.height = Math.round(height * pixelRatio);
  }

  clear() {
    this.pen.setTransform(1, 0, 0, 1, 0, 0);
    this.pen.clearRect(0, 0, this.canvas.width, this.canvas.height);
  }

  /** @param {import("./strokes.js").Stroke[]} strokes in their order */
  draw(strokes) {
    this.clear();
    const ratio = this.pixelRatio;
    const { scale, x, y } = this.view;
    this.pen.setTransform(scale * ratio, 0, 0, scale * ratio, x * ratio, y * ratio);
    this.pen.lineCap = this.pen.lineJoin = "round";
    for (const run of runsOfOneClass(strokes)) this.#drawRun(run);
  }

  /** The frame over what is painted, so that it is seen what counts. @param {[number, number][]} polygon */
  drawFrame(polygon) {
    const { pen } = this;
    pen.lineJoin = "miter";
    pen.beginPath();
    polygon.forEach(([x, y], at) => (at ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.closePath();
    for (const [colour, px] of FRAME_LINES) {
      pen.strokeStyle = colour;
      pen.lineWidth = px / this.view.scale;
      pen.stroke();
    }
  }

  /** Strokes of one class that follow each other look like one area: outlines first, then what is within. */
  #drawRun(strokes) {
    const [{ class: name }] = strokes;
    if (name === "bloom") {
      const wider = (2 * OUTLINE_PX) / this.view.scale;
      for (const stroke of strokes) this.#stroke(stroke, OUTLINE, wider);
    }
    const grey = this.#greyOf();
    const tint = this.#tintOf(name);
    for (const stroke of strokes) this.#stroke(stroke, grey, 0);
    if (tint) for (const stroke of strokes) this.#stroke(stroke, tint, 0);
  }

  #stroke(stroke, style, wider) {
    const width = stroke.width + wider;
    if (stroke.points.length === 1) {
      const [[x, y]] = stroke.points;
      this.pen.fillStyle = style;
      this.pen.beginPath();
      this.pen.arc(x, y, width / 2, 0, 2 * Math.PI);
      this.pen.fill();
      return;
    }
    this.pen.strokeStyle = style;
    this.pen.lineWidth = width;
    this.pen.stroke(this.#pathOf(stroke));
  }

  #pathOf(stroke) {
    const kept = this.#paths.get(stroke);
    if (kept?.length === stroke.points.length) return kept.path;
    const path = new Path2D();
    stroke.points.forEach(([x, y], at) => (at ? path.lineTo(x, y) : path.moveTo(x, y)));
    this.#paths.set(stroke, { path, length: stroke.points.length });
    return path;
  }

  #greyOf() {
    this.#grey ??= greyPattern(this.pen, this.image, this.view.photo.width);
    return this.#grey;
  }

  #tintOf(name) {
    const side = Math.max(this.view.photo.width, this.view.photo.height);
    if (!this.#tints.has(name)) this.#tints.set(name, tintPattern(this.pen, name, side));
    return this.#tints.get(name);
  }
}

function runsOfOneClass(strokes) {
  const runs = [];
  for (const stroke of strokes) {
    const run = runs.at(-1);
    if (run?.[0].class === stroke.class) run.push(stroke);
    else runs.push([stroke]);
  }
  return runs;
}
