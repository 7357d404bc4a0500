/** Reads the card in a picture or in what the camera shows just now, without halting the page. */

import { cardCornersFrom, isCardCode } from "./card_layout.js";

const LONGEST_FRAME_PX = 1280;

export class CardReadingFailed extends Error {
  constructor() {
    super("Cards cannot be read live just now. Choose the planting by hand; the journal reads the card in the photo later.");
  }
}

export class CardReader {
  #detector;
  #worker = null;
  #started = null;
  #waiting = new Map();
  #lastId = 0;

  /**
   * @param {{Detector?: any, startWorker?: () => Worker}} [parts] the browser's own reader where it has one, and our own
   */
  constructor({ Detector = globalThis.BarcodeDetector, startWorker = ownWorker } = {}) {
    this.#detector = started(Detector);
    this.startWorker = startWorker;
  }

  /**
   * @param {ImageData | HTMLVideoElement} source a playing video is read at 1280 pixels at most
   * @returns {Promise<import("./read_card.js").CardRead | null>} corners in pixels of the picture, of a video in its own
   * @throws {CardReadingFailed}
   */
  async read(source) {
    return (await this.#withBrowsersReader(source)) ?? (await this.#withOwnReader(source));
  }

  /** Ends the worker; reads under way answer that reading failed. */
  close() {
    this.#worker?.terminate();
    this.#failAll();
  }

  async #withBrowsersReader(source) {
    if (!this.#detector) return null;
    try {
      const codes = await this.#detector.detect(source);
      const card = codes.find((code) => isCardCode(code.rawValue) && code.cornerPoints?.length === 4);
      if (!card) return null;
      return { code: card.rawValue, corners: cardCornersFrom(card.cornerPoints.map(({ x, y }) => [x, y])) };
    } catch {
      // Some browsers have the class but not what it needs.
      this.#detector = null;
      return null;
    }
  }

  async #withOwnReader(source) {
    const { drawsBitmaps } = await this.#start();
    if (source instanceof ImageData) return this.#ask(source, []);
    const scale = Math.min(1, LONGEST_FRAME_PX / Math.max(source.videoWidth, source.videoHeight));
    const size = [source.videoWidth, source.videoHeight].map((length) => Math.round(length * scale));
    if (!size[0] || !size[1]) return null;
    const found = drawsBitmaps
      ? await this.#askBitmap(await createImageBitmap(source, { resizeWidth: size[0], resizeHeight: size[1] }))
      : await this.#ask(drawn(source, ...size), []);
    return found && { ...found, corners: found.corners.map(([x, y]) => [x / scale, y / scale]) };
  }

  #askBitmap(bitmap) {
    return this.#ask(bitmap, [bitmap]);
  }

  #ask(image, transfer) {
    const id = ++this.#lastId;
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve, reject });
      this.#worker.postMessage({ id, image }, transfer);
    });
  }

  #start() {
    this.#started ??= new Promise((resolve, reject) => {
      this.#worker = this.startWorker();
      this.#waiting.set(0, { resolve, reject });
      this.#worker.onmessage = ({ data }) => this.#settle(data);
      this.#worker.onerror = (event) => {
        event.preventDefault();
        this.#failAll();
      };
    });
    return this.#started;
  }

  #settle(data) {
    const { resolve, reject } = this.#waiting.get(data.id ?? 0);
    this.#waiting.delete(data.id ?? 0);
    if (data.problem) reject(new CardReadingFailed());
    else resolve(data.id ? data.found : data);
  }

  #failAll() {
    for (const { reject } of this.#waiting.values()) reject(new CardReadingFailed());
    this.#waiting.clear();
    this.#started = null;
  }
}

const ownWorker = () => new Worker(new URL("./worker.js", import.meta.url), { type: "module" });

function started(Detector) {
  try {
    return Detector ? new Detector({ formats: ["qr_code"] }) : null;
  } catch {
    return null;
  }
}

let canvas = null;

function drawn(video, width, height) {
  canvas ??= document.createElement("canvas");
  Object.assign(canvas, { width, height });
  const context = canvas.getContext("2d", { willReadFrequently: true });
  context.drawImage(video, 0, 0, width, height);
  return context.getImageData(0, 0, width, height);
}
