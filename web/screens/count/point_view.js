/** The spot around one point, enlarged, with a ring about the point; beside it where on the photo that is. */

import { button, element, svgElement } from "../dom.js";
import { pictureAddress } from "../../store/waiting_pictures.js";
import { frameOutline } from "../picture.js";

/** Longest side of the picture that a device keeps. */
const KEPT_PX = 1600;
/** The part of the photo's longer side that the shorter side of the spot shows, from far to near. */
const STEPS = [1 / 5, 1 / 8, 1 / 13, 1 / 21];
const FIRST_STEP = 1;
const RING_PX = 15;
const LINES = [
  ["#000", 5],
  ["#fff", 2],
];

export class PointView {
  #point = null;
  #step = FIRST_STEP;
  #source = null;

  /** @param {Object} photo record @param {[number, number][] | null} polygon @param {(problem: boolean) => void} told hears whether the picture can be had */
  constructor(photo, polygon, told) {
    const { width, height } = photo.fields;
    Object.assign(this, { photo, width, height, told });
    this.canvas = element("canvas", { class: "spot", role: "img" });
    this.closer = button("Closer", () => this.#zoom(1), { id: "closer" });
    this.wider = button("Wider", () => this.#zoom(-1), { id: "wider" });
    this.words = element("p", { class: "quiet sharpness", "aria-live": "polite" });
    this.node = element(
      "div",
      { class: "spot-part" },
      this.canvas,
      element("div", { class: "spot-ways" }, this.words, this.wider, this.closer),
    );
    this.mark = svgElement("g", { class: "here" });
    this.overview = this.#makeOverview(polygon);
    this.watcher = new ResizeObserver(() => this.#draw());
    this.watcher.observe(this.canvas);
    this.load();
  }

  /** The picture that the device keeps first, then the original's own pixels where they can be had. */
  async load() {
    this.told(false);
    try {
      this.#source = await loaded(pictureAddress(this.photo.id, "screen"));
    } catch {
      this.told(true);
      return;
    }
    this.#draw();
    if (Math.max(this.width, this.height) <= KEPT_PX) return;
    this.words.textContent = "Bringing the sharp picture …";
    try {
      this.#source = await loaded(`/api/photos/${this.photo.id}/picture?size=full`);
      this.words.textContent = "";
    } catch {
      this.words.textContent = "Shown from the smaller picture kept on this device.";
    }
    this.#draw();
  }

  /** @param {[number, number]} point in displayed pixels @param {string} words what a screen reader says of it */
  show(point, words) {
    this.#point = point;
    this.canvas.setAttribute("aria-label", words);
    const radius = Math.max(this.width, this.height) / 22;
    const circle = (name) => svgElement("circle", { class: name, cx: point[0], cy: point[1], r: radius });
    this.mark.replaceChildren(circle("under"), circle("over"));
    this.#draw();
  }

  leave() {
    this.watcher.disconnect();
  }

  #makeOverview(polygon) {
    const { width, height } = this;
    const outline = polygon ? frameOutline(this.photo, polygon) : svgElement("svg", { class: "outline", viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" });
    outline.append(this.mark);
    const image = element("img", { src: pictureAddress(this.photo.id, "screen"), alt: "", width, height });
    const stage = element("div", { class: "stage" }, image, outline);
    stage.style.setProperty("--shape", `${width} / ${height}`);
    return element("div", { class: "overview" }, stage);
  }

  #zoom(by) {
    this.#step = Math.min(Math.max(this.#step + by, 0), STEPS.length - 1);
    this.#draw();
  }

  #draw() {
    this.closer.disabled = this.#step === STEPS.length - 1;
    this.wider.disabled = this.#step === 0;
    const { clientWidth, clientHeight } = this.canvas;
    if (!this.#source || !this.#point || !clientWidth) return;
    const dense = globalThis.devicePixelRatio || 1;
    const [wide, high] = [clientWidth, clientHeight].map((px) => Math.round(px * dense));
    Object.assign(this.canvas, { width: wide, height: high });
    const pen = this.canvas.getContext("2d");
    pen.fillStyle = "#808080";
    pen.fillRect(0, 0, wide, high);
    pen.imageSmoothingQuality = "high";
    const scale = this.#source.naturalWidth / this.width;
    const shorter = STEPS[this.#step] * Math.max(this.width, this.height) * scale;
    const [seenWide, seenHigh] = [wide, high].map((px) => (px / Math.min(wide, high)) * shorter);
    const [x, y] = this.#point.map((value) => value * scale);
    pen.drawImage(this.#source, x - seenWide / 2, y - seenHigh / 2, seenWide, seenHigh, 0, 0, wide, high);
    ring(pen, [wide / 2, high / 2], dense);
  }
}

/** Open in the middle, so that what lies under the point is seen. */
function ring(pen, [x, y], dense) {
  const radius = RING_PX * dense;
  for (const [colour, line] of LINES) {
    pen.strokeStyle = colour;
    pen.lineWidth = line * dense;
    pen.beginPath();
    pen.arc(x, y, radius, 0, 2 * Math.PI);
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      pen.moveTo(x + dx * radius, y + dy * radius);
      pen.lineTo(x + dx * radius * 1.6, y + dy * radius * 1.6);
    }
    pen.stroke();
  }
}

async function loaded(address) {
  const image = new Image();
  image.src = address;
  await image.decode();
  return image;
}
