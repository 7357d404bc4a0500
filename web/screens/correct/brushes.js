/** What can be painted, and how it looks: as the server draws the class map, by lightness and pattern. */

/** In the order of the buttons. @type {{name: string, words: string, patch: string}[]} */
export const CLASSES = [
  { name: "bloom", words: "Open bloom", patch: "bloom" },
  { name: "foliage", words: "Foliage", patch: "foliage" },
  { name: "spent", words: "Spent bloom", patch: "spent" },
  { name: "other", words: "Not the plant", patch: "rest" },
];

/** Diameters on the screen in CSS pixels, whatever the photo is enlarged to. */
export const SIZES = [
  { words: "Fine", px: 12 },
  { words: "Medium", px: 28 },
  { words: "Broad", px: 64 },
];

const OVERLAY_PX = 1600;
/** Pixels of the tile for one of the overlay, so that it stays sharp when it is enlarged. */
const SHARP = 4;
const PITCH = 10;
const STRENGTH = 0.62;

const TINTS = {
  bloom: { colour: [255, 229, 127], strength: () => 1.2 },
  foliage: {
    colour: [47, 146, 130],
    strength: (x, y) => ((x + y) % PITCH < PITCH / 4 ? 0.45 : 1.05),
  },
  spent: {
    colour: [75, 33, 70],
    strength: (x, y) => (Math.hypot((x % PITCH) - PITCH / 2, (y % PITCH) - PITCH / 2) < PITCH / 4 ? 0.3 : 1.35),
  },
};

export const OUTLINE = "#141414";

/** @returns {CanvasPattern | null} of a class, to be stroked in displayed pixels of the photo; null where it has no tint */
export function tintPattern(pen, name, photoSide) {
  const tint = TINTS[name];
  if (!tint) return null;
  const side = PITCH * SHARP;
  const tile = new OffscreenCanvas(side, side);
  const tilePen = tile.getContext("2d");
  const image = tilePen.createImageData(side, side);
  for (let row = 0; row < side; row += 1)
    for (let column = 0; column < side; column += 1) {
      const strength = STRENGTH * tint.strength((column + 0.5) / SHARP, (row + 0.5) / SHARP);
      image.data.set([...tint.colour, Math.round(255 * Math.min(1, strength))], 4 * (row * side + column));
    }
  tilePen.putImageData(image, 0, 0);
  const pattern = pen.createPattern(tile, "repeat");
  pattern.setTransform(new DOMMatrix().scale(photoSide / OVERLAY_PX / SHARP));
  return pattern;
}

/** The photo in grey, as the overlay shows what is not counted: it hides what was counted before. */
export function greyPattern(pen, image, photoWidth) {
  const { naturalWidth: width, naturalHeight: height } = image;
  const canvas = new OffscreenCanvas(width, height);
  const greyPen = canvas.getContext("2d", { willReadFrequently: true });
  greyPen.drawImage(image, 0, 0);
  const pixels = greyPen.getImageData(0, 0, width, height);
  const { data } = pixels;
  for (let at = 0; at < data.length; at += 4) {
    const grey = 0.75 * (0.2126 * data[at] + 0.7152 * data[at + 1] + 0.0722 * data[at + 2]) + 32;
    data[at] = data[at + 1] = data[at + 2] = grey;
  }
  greyPen.putImageData(pixels, 0, 0);
  const pattern = pen.createPattern(canvas, "no-repeat");
  pattern.setTransform(new DOMMatrix().scale(photoWidth / width));
  return pattern;
}
