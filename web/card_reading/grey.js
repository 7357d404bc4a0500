/** Pictures of grey levels. @typedef {{width: number, height: number, levels: Uint8Array}} Grey */

/** Luma of Rec. 601, in whole numbers. @param {{width: number, height: number, data: Uint8ClampedArray}} image @returns {Grey} */
export function greyOf({ width, height, data }) {
  const levels = new Uint8Array(width * height);
  for (let at = 0, from = 0; at < levels.length; at++, from += 4) {
    levels[at] = (77 * data[from] + 150 * data[from + 1] + 29 * data[from + 2]) >> 8;
  }
  return { width, height, levels };
}

/** The picture at half its size, each level the mean of four. @param {Grey} grey @returns {Grey} */
export function halved(grey) {
  const width = grey.width >> 1;
  const height = grey.height >> 1;
  const levels = new Uint8Array(width * height);
  for (let row = 0; row < height; row++) {
    let from = 2 * row * grey.width;
    for (let at = row * width; at < (row + 1) * width; at++, from += 2) {
      const below = from + grey.width;
      const sum = grey.levels[from] + grey.levels[from + 1] + grey.levels[below] + grey.levels[below + 1];
      levels[at] = (sum + 2) >> 2;
    }
  }
  return { width, height, levels };
}

/** The level at a point (pixel centres at whole numbers plus one half), bilinear; beyond the edge as at the edge. */
export function levelAt({ width, height, levels }, x, y) {
  const column = Math.min(Math.max(x - 0.5, 0), width - 1.001);
  const row = Math.min(Math.max(y - 0.5, 0), height - 1.001);
  const left = column | 0;
  const top = row | 0;
  const right = column - left;
  const down = row - top;
  const at = top * width + left;
  const upper = levels[at] + (levels[at + 1] - levels[at]) * right;
  const lower = levels[at + width] + (levels[at + width + 1] - levels[at + width]) * right;
  return upper + (lower - upper) * down;
}
