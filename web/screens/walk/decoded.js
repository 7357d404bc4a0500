/** A picture's pixels, upright, from its bytes; by the browser's own decoder. */

const THUMB_PX = 320;

/** @returns {Promise<HTMLCanvasElement>} the picture, its longest side at most `longest` pixels; rejects what is no picture */
export async function decoded(bytes, mime, longest) {
  const address = URL.createObjectURL(new Blob([bytes], { type: mime }));
  try {
    const image = new Image();
    image.src = address;
    await image.decode();
    return drawn(image, image.naturalWidth, image.naturalHeight, longest);
  } finally {
    URL.revokeObjectURL(address);
  }
}

/** @param {CanvasImageSource} source a picture or a running video */
export function drawn(source, width, height, longest) {
  const scale = Math.min(1, longest / Math.max(width, height, 1));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  canvas.getContext("2d", { willReadFrequently: true }).drawImage(source, 0, 0, canvas.width, canvas.height);
  return canvas;
}

export const pixelsOf = (canvas) => canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);

/** The small picture of the lists, as JPEG bytes; undefined when none can be made: the photo itself serves then. */
export async function thumbOf(source, width, height) {
  if (!width || !height) return undefined;
  const canvas = drawn(source, width, height, THUMB_PX);
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.8));
  return blob?.arrayBuffer();
}
