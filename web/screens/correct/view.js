/** Where the photo lies on the stage: shifted and enlarged. Pure. */

const MOST_ENLARGED = 16;
/** The photo may be pushed so far in from the edge of the stage, so that its own edge can be painted. */
const MARGIN_PX = 56;

export class View {
  scale = 1;
  x = 0;
  y = 0;

  /** @param {{width: number, height: number}} photo in displayed pixels */
  constructor({ width, height }) {
    this.photo = { width, height };
    this.stage = { width: 1, height: 1 };
  }

  /** The stage has this size now: what was in its middle stays there. */
  resize(width, height) {
    const wasFitted = this.isFitted;
    const middle = this.toPhoto([this.stage.width / 2, this.stage.height / 2]);
    this.stage = { width, height };
    if (wasFitted) return this.fit();
    [this.x, this.y] = [width / 2 - middle[0] * this.scale, height / 2 - middle[1] * this.scale];
    this.#hold();
  }

  get fitted() {
    return Math.min(this.stage.width / this.photo.width, this.stage.height / this.photo.height);
  }

  get isFitted() {
    return this.scale <= this.fitted * 1.001 || this.stage.width === 1;
  }

  fit() {
    this.scale = this.fitted;
    this.#hold();
  }

  /** @param {[number, number]} at on the stage: what lies there stays there */
  zoom(factor, [px, py]) {
    const [x, y] = this.toPhoto([px, py]);
    this.scale = Math.min(Math.max(this.scale * factor, this.fitted), this.fitted * MOST_ENLARGED);
    [this.x, this.y] = [px - x * this.scale, py - y * this.scale];
    this.#hold();
  }

  pan(dx, dy) {
    this.x += dx;
    this.y += dy;
    this.#hold();
  }

  /** Brings a place of the photo onto the stage where it is not. */
  show([x, y]) {
    const [px, py] = this.toStage([x, y]);
    const outside = (value, most) => Math.min(0, most - MARGIN_PX / 2 - value) + Math.max(0, MARGIN_PX / 2 - value);
    this.pan(outside(px, this.stage.width), outside(py, this.stage.height));
  }

  toPhoto([px, py]) {
    return [(px - this.x) / this.scale, (py - this.y) / this.scale];
  }

  toStage([x, y]) {
    return [x * this.scale + this.x, y * this.scale + this.y];
  }

  #hold() {
    this.x = held(this.x, this.photo.width * this.scale, this.stage.width);
    this.y = held(this.y, this.photo.height * this.scale, this.stage.height);
  }
}

function held(offset, size, room) {
  if (size <= room) return (room - size) / 2;
  return Math.min(Math.max(offset, room - size - MARGIN_PX), MARGIN_PX);
}
