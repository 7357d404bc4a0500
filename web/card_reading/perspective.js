/** Projective maps of the plane, as nine numbers row by row, the last of them 1. */

/**
 * The map that takes four points to four others.
 *
 * @param {[number, number][]} from @param {[number, number][]} to @returns {Float64Array}
 */
export function homography(from, to) {
  const rows = [];
  from.forEach(([x, y], index) => {
    const [u, v] = to[index];
    rows.push([x, y, 1, 0, 0, 0, -u * x, -u * y, u], [0, 0, 0, x, y, 1, -v * x, -v * y, v]);
  });
  return Float64Array.from([...solved(rows), 1]);
}

/** Where the map takes a point. @returns {[number, number]} */
export function project(map, x, y) {
  const depth = map[6] * x + map[7] * y + map[8];
  return [(map[0] * x + map[1] * y + map[2]) / depth, (map[3] * x + map[4] * y + map[5]) / depth];
}

/** Linear equations, the right side in the last column, by Gauss with pivots; not a number where there is no answer. */
function solved(rows) {
  const size = rows.length;
  for (let column = 0; column < size; column++) {
    let best = column;
    for (let row = column + 1; row < size; row++) {
      if (Math.abs(rows[row][column]) > Math.abs(rows[best][column])) best = row;
    }
    [rows[column], rows[best]] = [rows[best], rows[column]];
    for (let row = 0; row < size; row++) {
      if (row === column) continue;
      const factor = rows[row][column] / rows[column][column];
      for (let at = column; at <= size; at++) rows[row][at] -= factor * rows[column][at];
    }
  }
  return rows.map((row, index) => row[size] / row[index]);
}
