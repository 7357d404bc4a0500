/** Pictures put together on a canvas: what comes out is pixels alone, without place, camera or owner. */

import { describedPng } from "./png_words.js";

const PAPER = "#ffffff";
const INK = "#1a1a1a";
const FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, sans-serif";

/** @param {number} width @param {number} height in pixels */
export function whiteCanvas(width, height) {
  const canvas = document.createElement("canvas");
  Object.assign(canvas, { width: Math.round(width), height: Math.round(height) });
  const pen = canvas.getContext("2d");
  pen.fillStyle = PAPER;
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.fillStyle = INK;
  return { canvas, pen };
}

/** @param {CanvasRenderingContext2D} pen @returns {number} the height of a line */
export function setText(pen, sizePx, weight = 400) {
  pen.font = `${weight} ${sizePx}px ${FONT}`;
  pen.textBaseline = "top";
  return Math.round(sizePx * 1.4);
}

/** Words in lines that fit; a word longer than a line is cut. @returns {string[]} */
export function linesOf(pen, words, roomPx) {
  const lines = [];
  for (const word of words.split(/\s+/)) {
    const longer = lines.length ? `${lines.at(-1)} ${word}` : word;
    if (lines.length && pen.measureText(longer).width <= roomPx) lines[lines.length - 1] = longer;
    else lines.push(fitting(pen, word, roomPx));
  }
  return lines;
}

function fitting(pen, word, roomPx) {
  if (pen.measureText(word).width <= roomPx) return word;
  const signs = [...word];
  while (signs.length > 1 && pen.measureText(`${signs.join("")}…`).width > roomPx) signs.pop();
  return `${signs.join("")}…`;
}

/** @param {string} address @returns {Promise<HTMLImageElement>} once it is there */
export async function loadedImage(address) {
  const image = new Image();
  image.src = address;
  try {
    await image.decode();
  } catch {
    throw new Error("A picture did not come, so that nothing was saved. Try again when the journal can be reached.");
  }
  return image;
}

/** @param {HTMLCanvasElement} canvas @param {string} description @returns {Promise<Blob>} a PNG that says what it shows */
export async function pngOf(canvas, description) {
  const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
  if (!blob) throw new Error("This device could not make the picture: it is too large for it.");
  const described = describedPng(new Uint8Array(await blob.arrayBuffer()), description);
  return new Blob([described], { type: "image/png" });
}
