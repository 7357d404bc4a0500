/** The photo on its stage, painted on with fingers, mouse or keys. Knows nothing of records. */

import { element } from "../dom.js";
import { CLASSES, SIZES } from "./brushes.js";
import { Hands } from "./hands.js";
import { KEYS_IN_WORDS, listenToKeys, nextSize } from "./keys.js";
import { PaintLayer } from "./paint_layer.js";
import { PaintLoupe } from "./paint_loupe.js";
import { View } from "./view.js";

/** Longer lines go on as another stroke, so that none is lost when the paint runs out. */
const MOST_POINTS = 3000;
const LEAST_STEP_PX = 1;

export class Easel {
  #live = null;
  #cursor = null;
  #planned = { settled: false, live: false };

  /**
   * @param {{width: number, height: number}} photo in displayed pixels
   * @param {{picture: string, overlay: string | null, frame: [number, number][] | null}} shown addresses, and the frame
   * @param {import("./strokes.js").Painting} painting
   * @param {{changed: () => void, chosen: () => void, full: () => void, missing: (what: "picture" | "overlay") => void}} tells
   */
  constructor(photo, shown, painting, tells) {
    Object.assign(this, { painting, tells, frame: shown.frame });
    this.brush = { name: CLASSES[0].name, size: 1 };
    this.view = new View(photo);
    this.#makeNodes(shown);
    this.settled = new PaintLayer(this.settledNode, this.view, this.image);
    this.live = new PaintLayer(this.liveNode, this.view, this.image);
    this.loupe = new PaintLoupe(this.view);
    this.stage.append(this.loupe.node);
    new Hands(this.stage, this.#hand());
    listenToKeys(this.stage, this.#keys());
    this.sizes = new ResizeObserver(() => this.#resize());
    this.sizes.observe(this.stage);
  }

  /** Ends watching the stage. */
  leave() {
    this.sizes.disconnect();
  }

  choose(brush) {
    this.#end();
    Object.assign(this.brush, brush);
    this.#ring();
    this.tells.chosen();
  }

  undo() {
    this.#end();
    this.painting.undo();
    this.#changed();
  }

  redo() {
    this.painting.redo();
    this.#changed();
  }

  clear() {
    this.#end();
    this.painting.clear();
    this.#changed();
  }

  /** Shows what is counted, or the photo alone with what is painted faintly over it. */
  showCounted(on) {
    this.overlay?.toggleAttribute("hidden", !on);
    this.stage.classList.toggle("photo-only", !on);
  }

  zoom(factor) {
    const { width, height } = this.view.stage;
    this.view.zoom(factor, this.#cursor ?? [width / 2, height / 2]);
    this.#moved();
  }

  fit() {
    this.view.fit();
    this.#moved();
  }

  #makeNodes({ picture, overlay }) {
    const { width, height } = this.view.photo;
    const shown = (src, name, alt, what) =>
      element("img", { src, alt, class: name, draggable: "false", onerror: () => this.tells.missing(what) });
    this.image = shown(picture, "photo", "The photo that is corrected", "picture");
    this.image.addEventListener("load", () => this.#plan("settled"));
    this.overlay = overlay && shown(overlay, "counted", "", "overlay");
    this.overlay?.addEventListener("error", () => this.overlay.remove());
    this.sheet = element("div", { class: "sheet" }, this.image, this.overlay);
    this.sheet.style.setProperty("--shape", `${width} / ${height}`);
    this.settledNode = element("canvas", { "aria-hidden": "true" });
    this.liveNode = element("canvas", { "aria-hidden": "true" });
    this.ring = element("div", { class: "brush-ring", hidden: true, "aria-hidden": "true" });
    this.keysNode = element("p", { id: "easel-keys", class: "unseen" }, KEYS_IN_WORDS);
    this.stage = element(
      "div",
      {
        class: "easel",
        tabindex: "0",
        role: "application",
        "aria-label": "The photo, to be painted on",
        "aria-describedby": "easel-keys",
      },
      this.sheet,
      this.settledNode,
      this.liveNode,
      this.ring,
    );
  }

  get #isReady() {
    return this.image.complete && this.image.naturalWidth > 0;
  }

  get #brushPx() {
    return SIZES[this.brush.size].px;
  }

  #hand() {
    return {
      begin: (at, how) => this.#begin(at, how),
      move: (at) => this.#extend(at),
      end: () => this.#end(),
      cancel: () => this.#cancel(),
      hover: (at) => this.#hover(at),
      pan: (dx, dy) => {
        this.view.pan(dx, dy);
        this.#moved();
      },
      zoom: (factor, at) => {
        this.view.zoom(factor, at);
        this.#moved();
      },
    };
  }

  #keys() {
    return {
      step: (dx, dy) => this.#step(dx, dy),
      toggle: () => (this.#live ? this.#end() : this.#begin(this.#cursorOrMiddle(), "keys")),
      lift: () => this.#end(),
      enlarge: (factor) => this.zoom(factor),
      fit: () => this.fit(),
      choose: (name) => this.choose({ name }),
      size: (by) => this.choose({ size: nextSize(this.brush.size, by) }),
      undo: () => this.undo(),
      redo: () => this.redo(),
    };
  }

  #begin(at, how) {
    this.#end();
    if (!this.#isReady) return false;
    if (this.painting.fullness >= 1) {
      this.tells.full();
      return false;
    }
    const width = this.#brushPx / this.view.scale;
    this.#live = { how, stroke: { class: this.brush.name, width, points: [this.view.toPhoto(at)] } };
    this.#showLive(at);
    return true;
  }

  #extend(at) {
    if (!this.#live) return;
    const { stroke, how } = this.#live;
    const [x, y] = this.view.toStage(stroke.points.at(-1));
    if (Math.hypot(at[0] - x, at[1] - y) < LEAST_STEP_PX) return;
    stroke.points.push(this.view.toPhoto(at));
    if (stroke.points.length >= MOST_POINTS) {
      this.#end();
      if (!this.#begin(at, how)) return;
    }
    this.#showLive(at);
  }

  #end() {
    if (!this.#live) return;
    this.painting.add(this.#live.stroke);
    this.#cancel();
    this.#changed();
  }

  #cancel() {
    this.#live = null;
    this.loupe.hide();
    this.#ring();
    this.#plan("live");
  }

  #showLive(at) {
    this.#cursor = at;
    this.#plan("live");
    this.#ring();
  }

  /** Of a finger there is nothing to see but the loupe; mouse and keys show the brush. */
  #hover(at) {
    if (this.#live?.how === "keys") return;
    this.#cursor = at;
    this.#ring();
  }

  #cursorOrMiddle() {
    const { width, height } = this.view.stage;
    this.#cursor ??= [width / 2, height / 2];
    return this.#cursor;
  }

  #step(dx, dy) {
    const [x, y] = this.#cursorOrMiddle();
    const to = this.view.toPhoto([x + dx, y + dy]);
    const { width, height } = this.view.photo;
    const held = [Math.min(Math.max(to[0], 0), width), Math.min(Math.max(to[1], 0), height)];
    this.view.show(held);
    this.#moved();
    this.#cursor = this.view.toStage(held);
    this.#ring();
    this.#extend(this.#cursor);
  }

  #ring() {
    const hidden = !this.#cursor || this.#live?.how === "touch";
    this.ring.hidden = hidden;
    if (hidden) return;
    const px = this.#brushPx;
    this.ring.style.width = this.ring.style.height = `${px}px`;
    this.ring.style.transform = `translate(${this.#cursor[0] - px / 2}px, ${this.#cursor[1] - px / 2}px)`;
    this.ring.classList.toggle("down", Boolean(this.#live));
  }

  #changed() {
    this.#plan("settled");
    this.tells.changed();
  }

  #resize() {
    const { clientWidth, clientHeight } = this.stage;
    if (!clientWidth || !clientHeight) return;
    this.view.resize(clientWidth, clientHeight);
    for (const layer of [this.settled, this.live]) layer.resize(clientWidth, clientHeight, devicePixelRatio);
    this.#moved();
  }

  #moved() {
    const { scale, x, y, photo } = this.view;
    this.sheet.style.width = `${photo.width * this.view.fitted}px`;
    this.sheet.style.transform = `translate(${x}px, ${y}px) scale(${scale / this.view.fitted})`;
    this.#plan("settled");
    if (this.#live) this.#plan("live");
  }

  /** Once for each frame of the screen, however many points came in between. */
  #plan(what) {
    if (!this.#planned.settled && !this.#planned.live) requestAnimationFrame(() => this.#draw());
    this.#planned[what] = true;
  }

  #draw() {
    const { settled } = this.#planned;
    this.#planned = { settled: false, live: false };
    if (!this.#isReady) return;
    if (settled) {
      this.settled.draw(this.painting.strokes);
      if (this.frame) this.settled.drawFrame(this.frame);
    }
    this.live.draw(this.#live ? [this.#live.stroke] : []);
    if (this.#live?.how !== "touch") return;
    const images = [this.image, this.overlay].filter((image) => image?.isConnected && !image.hidden);
    this.loupe.show(
      this.#cursor,
      images.filter(({ naturalWidth }) => naturalWidth),
      [this.settled, this.live],
      this.#brushPx / 2,
    );
  }
}
