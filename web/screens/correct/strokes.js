/** What is painted: strokes in displayed pixels of the photo, with undo and redo, kept small enough to be sent. Pure. */

/**
 * @typedef {{class: "bloom" | "spent" | "foliage" | "other", width: number, points: [number, number][]}} Stroke
 */

/** As the server's limits (domain/hand_strokes.py), with room for the stroke that is being painted. */
const MOST_STROKES = 1900;
const MOST_BYTES = 180_000;
/** A stroke that grows longer than this goes on as another one. */
export const LONGEST_STROKE = 800;

/** Points may be left out where the line moves by less than this share of its width. */
const TOLERANCE = 0.04;

export class Painting {
  /** Every state that can be gone back to; lists are shared, never changed. @type {Stroke[][]} */
  #states;
  #at = 0;
  #bytes = new WeakMap();

  /** @param {Stroke[]} start */
  constructor(start = []) {
    this.#states = [start];
  }

  get strokes() {
    return this.#states[this.#at];
  }

  get canUndo() {
    return this.#at > 0;
  }

  get canRedo() {
    return this.#at < this.#states.length - 1;
  }

  /** @param {Stroke} stroke as the hand drew it @returns {Stroke[]} as it is kept */
  add(stroke) {
    const kept = inParts(simplified(stroke));
    this.#go([...this.strokes, ...kept]);
    return kept;
  }

  clear() {
    if (this.strokes.length) this.#go([]);
  }

  undo() {
    if (this.canUndo) this.#at -= 1;
  }

  redo() {
    if (this.canRedo) this.#at += 1;
  }

  /** How full it is, from 0 to 1: at 1 no other stroke is begun. */
  get fullness() {
    const bytes = this.strokes.reduce((sum, stroke) => sum + this.#bytesOf(stroke), 0);
    return Math.min(1, Math.max(bytes / MOST_BYTES, this.strokes.length / MOST_STROKES));
  }

  #go(strokes) {
    this.#states = [...this.#states.slice(0, this.#at + 1), strokes];
    this.#at += 1;
  }

  #bytesOf(stroke) {
    if (!this.#bytes.has(stroke)) this.#bytes.set(stroke, bytesAtTheServer(stroke));
    return this.#bytes.get(stroke);
  }
}

/** The server writes every number with a decimal: 5 as 5.0. */
function bytesAtTheServer(stroke) {
  const whole = [stroke.width, ...stroke.points.flat()].filter(Number.isInteger).length;
  return JSON.stringify(stroke).length + 1 + 2 * whole;
}

/** The same line with fewer points (Ramer 1972, Douglas and Peucker 1973), to a tenth of a pixel. */
export function simplified({ class: name, width, points }) {
  const rounded = points.map(([x, y]) => [tenth(x), tenth(y)]);
  return { class: name, width: tenth(width), points: thinned(rounded, width * TOLERANCE) };
}

const tenth = (value) => Math.round(value * 10) / 10;

function thinned(points, tolerance) {
  if (points.length < 3) return points.length === 2 && same(...points) ? points.slice(0, 1) : points;
  const keep = new Set([0, points.length - 1]);
  const open = [[0, points.length - 1]];
  while (open.length) {
    const [first, last] = open.pop();
    let farthest = -1;
    let most = tolerance;
    for (let at = first + 1; at < last; at += 1) {
      const away = distanceToSegment(points[at], points[first], points[last]);
      if (away > most) [farthest, most] = [at, away];
    }
    if (farthest < 0) continue;
    keep.add(farthest);
    open.push([first, farthest], [farthest, last]);
  }
  const kept = points.filter((_, at) => keep.has(at));
  return kept.length === 2 && same(...kept) ? kept.slice(0, 1) : kept;
}

const same = ([ax, ay], [bx, by]) => ax === bx && ay === by;

function distanceToSegment([x, y], [ax, ay], [bx, by]) {
  const [dx, dy] = [bx - ax, by - ay];
  const length = dx * dx + dy * dy;
  const along = length ? Math.min(Math.max(((x - ax) * dx + (y - ay) * dy) / length, 0), 1) : 0;
  return Math.hypot(x - ax - along * dx, y - ay - along * dy);
}

/** Parts that meet in a point, so that they look like the one line that they were. */
function inParts(stroke) {
  const parts = [];
  for (let from = 0; from === 0 || from < stroke.points.length - 1; from += LONGEST_STROKE - 1)
    parts.push({ ...stroke, points: stroke.points.slice(from, from + LONGEST_STROKE) });
  return parts;
}
