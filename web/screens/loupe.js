/** Shows, enlarged and off to the side, the spot of the picture that lies under the finger. */

import { element } from "./dom.js";

const SIZE_PX = 132;
const ENLARGE = 3;

export class Loupe {
  /** @param {HTMLImageElement} image @param {number} width of the photo in displayed pixels @param {number} height */
  constructor(image, width, height) {
    Object.assign(this, { image, width, height });
    this.node = element("canvas", {
      class: "loupe",
      width: SIZE_PX * 2,
      height: SIZE_PX * 2,
      hidden: true,
      "aria-hidden": "true",
    });
  }

  /** @param {[number, number]} spot in displayed pixels of the photo */
  show([x, y]) {
    this.node.hidden = false;
    this.node.classList.toggle("right", x < this.width / 2);
    const scale = this.image.naturalWidth / this.width;
    const side = ((SIZE_PX / ENLARGE) * this.image.naturalWidth) / this.image.clientWidth;
    const pen = this.node.getContext("2d");
    const full = SIZE_PX * 2;
    pen.fillStyle = "#808080";
    pen.fillRect(0, 0, full, full);
    pen.drawImage(this.image, x * scale - side / 2, y * scale - side / 2, side, side, 0, 0, full, full);
    for (const [colour, line] of [
      ["#000", 5],
      ["#fff", 2],
    ]) {
      pen.strokeStyle = colour;
      pen.lineWidth = line;
      pen.beginPath();
      pen.moveTo(full / 2, full / 2 - 24);
      pen.lineTo(full / 2, full / 2 + 24);
      pen.moveTo(full / 2 - 24, full / 2);
      pen.lineTo(full / 2 + 24, full / 2);
      pen.stroke();
    }
  }

  hide() {
    this.node.hidden = true;
  }
}
