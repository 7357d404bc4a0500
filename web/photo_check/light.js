/** The light in the middle of a picture, where the planting is, at the size at which the server looks. */

const WORKING_PIXELS = 300_000;
const BURNT_OUT_FROM = 253;
/** Shares of width and height left out on each side: walls, sky and ground. */
const LEFT_OUT = { across: 1 / 8, down: 1 / 6 };

/** IEC 61966-2-1, from levels to linear light. */
const LINEAR = Float32Array.from({ length: 256 }, (_, level) => {
  const value = level / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
});

/**
 * @typedef {{width: number, height: number, light: Float32Array, burntOut: number}} Centre luminance 0 to 1 row by row, and
 * the share of pixels with a channel at its end
 * @param {ImageData} image @returns {Centre}
 */
export function centreOf({ width: fullWidth, height: fullHeight, data }) {
  const scale = Math.min(1, Math.sqrt(WORKING_PIXELS / (fullWidth * fullHeight)));
  const columns = cellStarts(fullWidth, scale, LEFT_OUT.across);
  const rows = cellStarts(fullHeight, scale, LEFT_OUT.down);
  const width = columns.length - 1;
  const height = rows.length - 1;
  const light = new Float32Array(width * height);
  let burnt = 0;
  for (let row = 0, at = 0; row < height; row++) {
    for (let column = 0; column < width; column++, at++) {
      let [red, green, blue, count] = [0, 0, 0, 0];
      for (let y = rows[row]; y < rows[row + 1]; y++) {
        const end = 4 * (y * fullWidth + columns[column + 1]);
        for (let from = 4 * (y * fullWidth + columns[column]); from < end; from += 4, count++) {
          red += data[from];
          green += data[from + 1];
          blue += data[from + 2];
        }
      }
      red = Math.round(red / count);
      green = Math.round(green / count);
      blue = Math.round(blue / count);
      light[at] = 0.2126 * LINEAR[red] + 0.7152 * LINEAR[green] + 0.0722 * LINEAR[blue];
      if (Math.max(red, green, blue) >= BURNT_OUT_FROM) burnt++;
    }
  }
  return { width, height, light, burntOut: burnt / light.length };
}

/**
 * Where each pixel of the smaller picture begins along one side of the larger, without the margins, and where the last
 * ends. Each takes the pixels whose middles lie in it, as the server's way of shrinking does: sharing out those at the
 * edges would soften the picture.
 */
function cellStarts(length, scale, leftOut) {
  const all = Math.max(1, Math.round(length * scale));
  const first = Math.floor(all * leftOut);
  return Array.from({ length: all - 2 * first + 1 }, (_, at) => Math.ceil(((first + at) * length) / all - 0.5));
}
