/** Photos as one picture to keep: two dates with the line between them, or what was counted, with words below. */

import { linesOf, loadedImage, setText, whiteCanvas } from "./canvas.js";

const WORDS_SHARE = 40;
const LEAST_WORDS_PX = 16;
const GAP_PX = 8;

/** @typedef {{address: string, words: string}} Dated a photo and its day in words */

/**
 * The later photo over the earlier one, from the line on.
 *
 * @param {Dated} first @param {Dated} second laid on the place of the first @param {number} at where the line is, in per cent
 * @param {string} title of the planting
 */
export async function slidPair(first, second, at, title) {
  const [under, over] = await Promise.all([loadedImage(first.address), loadedImage(second.address)]);
  const { naturalWidth: width, naturalHeight: height } = under;
  const captions = [`Left of the line: ${first.words}`, `Right of it: ${second.words}`];
  const { canvas, pen } = withWords(width, height, [title, captions.join(". ")]);
  pen.drawImage(under, 0, 0, width, height);
  const line = (width * at) / 100;
  pen.save();
  pen.beginPath();
  pen.rect(line, 0, width - line, height);
  pen.clip();
  pen.drawImage(over, 0, 0, width, height);
  pen.restore();
  if (at > 0 && at < 100) drawLine(pen, line, height, Math.max(2, width / 400));
  return canvas;
}

function drawLine(pen, x, height, thick) {
  pen.fillStyle = "#000000";
  pen.fillRect(x - thick, 0, 2 * thick, height);
  pen.fillStyle = "#ffffff";
  pen.fillRect(x - thick / 2, 0, thick, height);
}

/** Both as they were taken, side by side and equally high. */
export async function pairBeside(first, second, title) {
  const both = await Promise.all([loadedImage(first.address), loadedImage(second.address)]);
  const height = Math.min(...both.map((image) => image.naturalHeight));
  const widths = both.map(({ naturalWidth, naturalHeight }) => Math.round((naturalWidth * height) / naturalHeight));
  const words = `Left: ${first.words}. Right: ${second.words}`;
  const { canvas, pen } = withWords(widths[0] + GAP_PX + widths[1], height, [title, words]);
  pen.drawImage(both[0], 0, 0, widths[0], height);
  pen.drawImage(both[1], widths[0] + GAP_PX, 0, widths[1], height);
  return canvas;
}

/** @param {string} address of the class map over the photo @param {string} title @param {[string, string][]} classes */
export async function countedPicture(address, title, classes) {
  const image = await loadedImage(address);
  const { naturalWidth: width, naturalHeight: height } = image;
  const { canvas, pen, below } = withWords(width, height, [title], (size) => legendHeight(size, classes));
  pen.drawImage(image, 0, 0, width, height);
  drawLegend(pen, classes, below);
  return canvas;
}

/** A white canvas with room for a picture, and words below it, the first line strong. */
function withWords(width, height, lines, more = () => 0) {
  const size = Math.max(LEAST_WORDS_PX, Math.round(width / WORDS_SHARE));
  const { pen: ruler } = whiteCanvas(1, 1);
  const set = lines.map((words, at) => {
    const step = setText(ruler, size, at ? 400 : 650);
    return { weight: at ? 400 : 650, step, lines: linesOf(ruler, words, width - 2 * size) };
  });
  const used = set.reduce((sum, { step, lines: own }) => sum + step * own.length, size);
  const { canvas, pen } = whiteCanvas(width, height + used + more(size) + size / 2);
  let y = height + size / 2;
  for (const { weight, step, lines: own } of set) {
    setText(pen, size, weight);
    for (const line of own) {
      pen.fillText(line, size, y);
      y += step;
    }
  }
  return { canvas, pen, below: { y, size } };
}

const legendHeight = (size, classes) => classes.length * Math.round(size * 1.6);

function drawLegend(pen, classes, { y, size }) {
  const step = setText(pen, size) && Math.round(size * 1.6);
  classes.forEach(([name, words], at) => {
    const top = y + at * step;
    drawPatch(pen, name, size, top, size);
    pen.fillStyle = "#1a1a1a";
    pen.fillText(words, 2.6 * size, top);
  });
}

/** As the server draws the classes: told apart by lightness and pattern, not by hue alone. */
function drawPatch(pen, name, x, y, side) {
  pen.save();
  pen.beginPath();
  pen.rect(x, y, side, side);
  pen.clip();
  pen.fillStyle = { bloom: "#ffe57f", foliage: "#2f9282", spent: "#4b2146", rest: "#808080" }[name];
  pen.fillRect(x, y, side, side);
  pen.lineWidth = side / 10;
  if (name === "bloom") {
    pen.strokeStyle = "#141414";
    pen.strokeRect(x, y, side, side);
  } else if (name === "foliage") {
    pen.strokeStyle = "#8fb9b2";
    for (let at = -side; at < side; at += side / 3) {
      pen.beginPath();
      pen.moveTo(x + at, y + side);
      pen.lineTo(x + at + side, y);
      pen.stroke();
    }
  } else if (name === "spent") {
    pen.fillStyle = "#9b8499";
    for (const dx of [0.25, 0.75])
      for (const dy of [0.25, 0.75]) {
        pen.beginPath();
        pen.arc(x + dx * side, y + dy * side, side / 10, 0, 2 * Math.PI);
        pen.fill();
      }
  }
  pen.restore();
}
