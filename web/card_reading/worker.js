/** Reads cards beside the page, so that the viewfinder never halts: `{id, image}` in, `{id, found}` or `{id, problem}` out. */

import { greyOf } from "./grey.js";
import { readCard } from "./read_card.js";

let canvas = null;

self.onmessage = ({ data: { id, image } }) => {
  try {
    self.postMessage({ id, found: readCard(greyOf(pixelsOf(image))) });
  } catch (problem) {
    self.postMessage({ id, problem: String(problem) });
  }
};

/** @param {ImageData | ImageBitmap} image a bitmap is only sent where this worker can draw it */
function pixelsOf(image) {
  if (image instanceof ImageData) return image;
  canvas ??= new OffscreenCanvas(image.width, image.height);
  canvas.width = image.width;
  canvas.height = image.height;
  const context = canvas.getContext("2d", { willReadFrequently: true });
  context.drawImage(image, 0, 0);
  image.close();
  return context.getImageData(0, 0, canvas.width, canvas.height);
}

self.postMessage({ drawsBitmaps: typeof OffscreenCanvas === "function" });
