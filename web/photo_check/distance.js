/** @typedef {import("./check_photo.js").CardInPicture} CardInPicture */

/**
 * How many times closer one card was than another, by its size in the picture.
 *
 * @param {CardInPicture} card @param {CardInPicture} other
 */
export const closerThan = (card, other) => sizeInPicture(card) / sizeInPicture(other);

/** Side of a square as large as the card. Against the longer side, which stays as wide in a view cut to another shape. */
const sizeInPicture = ({ corners, width, height }) => Math.sqrt(area(corners)) / Math.max(width, height);

function area(corners) {
  const twice = corners.reduce((sum, [x, y], index) => {
    const [nextX, nextY] = corners[(index + 1) % corners.length];
    return sum + x * nextY - nextX * y;
  }, 0);
  return Math.abs(twice) / 2;
}
