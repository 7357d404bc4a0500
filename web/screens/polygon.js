/** Small geometry of polygons in the plane of a photo. Pure. */

export const distance = ([ax, ay], [bx, by]) => Math.hypot(ax - bx, ay - by);

/** Which edge lies nearest to a point: the index of its first corner. */
export function nearestEdge(corners, point) {
  const distances = corners.map((corner, index) =>
    distanceToSegment(point, corner, corners[(index + 1) % corners.length]),
  );
  return distances.indexOf(Math.min(...distances));
}

export const insertAt = (corners, index, corner) => [
  ...corners.slice(0, index),
  corner,
  ...corners.slice(index),
];

function distanceToSegment([x, y], [ax, ay], [bx, by]) {
  const [dx, dy] = [bx - ax, by - ay];
  const along = dx || dy ? ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy) : 0;
  const held = Math.min(Math.max(along, 0), 1);
  return distance([x, y], [ax + held * dx, ay + held * dy]);
}
