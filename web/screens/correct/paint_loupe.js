/** Shows what lies under the finger, enlarged and off to the side, with what is painted there. */

import { element } from "../dom.js";

const SIZE_PX = 128;
const ENLARGE = 2;

export class PaintLoupe {
  /** @param {import("./view.js").View} view */
  constructor(view) {
    this.view = view;
    this.node = element("canvas", {
      class: "paint-loupe",
      width: SIZE_PX * 2,
      height: SIZE_PX * 2,
      hidden: true,
      "aria-hidden": "true",
    });
    this.pen = this.node.getContext("2d");
  }

  /**
   * @param {[number, number]} at on the stage
   * @param {HTMLImageElement[]} images shown, the uppermost last @param {import("./paint_layer.js").PaintLayer[]} layers
   * @param {number} brushPx on the stage
   */
  show(at, images, layers, brushPx) {
    this.node.hidden = false;
    this.node.classList.toggle("right", at[0] < this.view.stage.width / 2);
    const full = SIZE_PX * 2;
    const reach = SIZE_PX / ENLARGE;
    this.pen.fillStyle = "#808080";
    this.pen.fillRect(0, 0, full, full);
    const [x, y] = this.view.toPhoto([at[0] - reach / 2, at[1] - reach / 2]);
    for (const image of images) {
      const natural = image.naturalWidth / this.view.photo.width;
      const side = (reach / this.view.scale) * natural;
      this.pen.drawImage(image, x * natural, y * natural, side, side, 0, 0, full, full);
    }
    for (const { canvas, pixelRatio } of layers) {
      const [left, top] = at.map((value) => (value - reach / 2) * pixelRatio);
      this.pen.drawImage(canvas, left, top, reach * pixelRatio, reach * pixelRatio, 0, 0, full, full);
    }
    this.#ring(brushPx * ENLARGE);
  }

  hide() {
    this.node.hidden = true;
  }

  /** The brush as wide as it paints. */
  #ring(radius) {
    for (const [colour, line] of [
      ["#000", 6],
      ["#fff", 2.5],
    ]) {
      this.pen.strokeStyle = colour;
      this.pen.lineWidth = line;
      this.pen.beginPath();
      this.pen.arc(SIZE_PX, SIZE_PX, radius, 0, 2 * Math.PI);
      this.pen.stroke();
    }
  }
}
