/** The live picture with the last photo laid over it, so that the framing matches; without a camera the last photo alone. */

import { button, element } from "../dom.js";
import { frameOutline } from "../picture.js";
import { lastSeenInWords } from "./words.js";

const LEAST_OPACITY = 10;
const MOST_OPACITY = 90;
const STARTING = { on: true, opacity: 40 };
const OVERLAY = "overlay";

export class Viewfinder {
  /**
   * @param {Object} journal
   * @param {{photo: Object | null, polygon: number[][] | null}} last the last photo and the frame as it lies on it
   */
  constructor(journal, last) {
    this.journal = journal;
    this.video = element("video", { playsinline: true, muted: true, "aria-label": "What the camera sees now" });
    this.video.muted = true;
    this.video.hidden = true;
    this.over = last.photo ? lastPicture(journal, last) : null;
    this.stage = element("div", { class: "finder-stage" }, this.video, this.over);
    this.ways = element("div", { class: "finder-ways", hidden: true });
    this.caption = element("p", { class: "quiet finder-words" }, last.photo ? `${lastSeenInWords(last.photo)}.` : "");
    this.node = element("figure", { class: "finder" }, this.stage, this.ways, this.caption);
    this.#shape(last.photo?.fields.width, last.photo?.fields.height);
  }

  /** Shows the camera's picture, once it runs into `this.video`. */
  async goLive() {
    this.video.hidden = false;
    const fit = () => this.#shape(this.video.videoWidth, this.video.videoHeight);
    this.video.addEventListener("resize", fit);
    fit();
    this.caption.hidden = true;
    if (!this.over) return;
    this.kept = { ...STARTING, ...(await this.journal.device.get(OVERLAY)) };
    this.ways.replaceChildren(...this.#ways());
    this.ways.hidden = false;
    this.#lay();
  }

  /** Back to the last photo alone, when the camera is taken away. */
  goStill() {
    this.video.hidden = true;
    this.ways.hidden = true;
    this.caption.hidden = false;
    if (this.over) Object.assign(this.over, { hidden: false });
    this.over?.querySelector("img").style.removeProperty("opacity");
  }

  #ways() {
    const keep = (change) => {
      Object.assign(this.kept, change);
      this.#lay();
      this.journal.device.set(OVERLAY, this.kept);
    };
    const flip = () => keep({ on: !this.kept.on });
    this.toggle = button("", flip, { id: "overlay" });
    this.slider = element("input", {
      type: "range",
      id: "overlay-strength",
      min: LEAST_OPACITY,
      max: MOST_OPACITY,
      step: 10,
      value: this.kept.opacity,
      "aria-label": "How strongly the last photo shows, in per cent",
      oninput: () => keep({ opacity: Number(this.slider.value) }),
    });
    return [this.toggle, this.slider];
  }

  #lay() {
    const { on, opacity } = this.kept;
    this.over.hidden = !on;
    this.over.querySelector("img").style.opacity = String(opacity / 100);
    this.toggle.textContent = on ? "Last photo: on" : "Last photo: off";
    this.toggle.setAttribute("aria-pressed", String(on));
    this.slider.disabled = !on;
  }

  #shape(width, height) {
    if (width && height) this.node.style.setProperty("--shape", `${width} / ${height}`);
  }
}

function lastPicture(journal, { photo, polygon }) {
  const { width, height } = photo.fields;
  const image = element("img", {
    src: journal.pictureAddress(photo.id, "screen"),
    alt: lastSeenInWords(photo),
    onerror: () => (image.hidden = true),
  });
  const outline = polygon && width && height ? frameOutline(photo, polygon) : null;
  return element("div", { class: "finder-over" }, image, outline);
}
