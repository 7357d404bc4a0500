/**
 * Fingers, pen and mouse on the stage: one finger paints, two move and enlarge. Knows nothing of strokes.
 *
 * @typedef {{begin: (at: [number, number], how: string) => boolean, move: (at: [number, number]) => void, end: () => void,
 *   cancel: () => void, hover: (at: [number, number] | null) => void, pan: (dx: number, dy: number) => void,
 *   zoom: (factor: number, at: [number, number]) => void}} Hand
 */

/** A second finger so soon after the first means that both came to move the photo. */
const TWO_AT_ONCE_MS = 350;
const WHEEL_STEP = 0.0015;

export class Hands {
  #down = new Map();
  #painting = null;
  #panning = null;
  #pinched = false;
  #startedAt = 0;

  /** @param {HTMLElement} stage @param {Hand} hand */
  constructor(stage, hand) {
    Object.assign(this, { stage, hand });
    stage.addEventListener("pointerdown", (event) => this.#press(event));
    stage.addEventListener("pointermove", (event) => this.#move(event));
    for (const name of ["pointerup", "pointercancel"])
      stage.addEventListener(name, (event) => this.#lift(event));
    stage.addEventListener("pointerleave", () => this.hand.hover(null));
    stage.addEventListener("contextmenu", (event) => event.preventDefault());
    stage.addEventListener("wheel", (event) => this.#wheel(event), { passive: false });
  }

  #at({ clientX, clientY }) {
    const box = this.stage.getBoundingClientRect();
    return [clientX - box.left, clientY - box.top];
  }

  #press(event) {
    event.preventDefault();
    this.stage.focus({ preventScroll: true });
    this.stage.setPointerCapture(event.pointerId);
    this.#down.set(event.pointerId, this.#at(event));
    if (event.pointerType === "touch" && this.#down.size > 1) return this.#pinch(event);
    if (event.button !== 0) {
      this.#panning = event.pointerId;
      return;
    }
    this.#startedAt = event.timeStamp;
    if (this.hand.begin(this.#at(event), event.pointerType)) this.#painting = event.pointerId;
  }

  /** What the first finger painted by mistake goes; what it painted on purpose stays. */
  #pinch(event) {
    this.#pinched = true;
    if (this.#painting === null) return;
    this.#painting = null;
    if (event.timeStamp - this.#startedAt < TWO_AT_ONCE_MS) this.hand.cancel();
    else this.hand.end();
  }

  #move(event) {
    const at = this.#at(event);
    if (event.pointerType !== "touch") this.hand.hover(at);
    const before = this.#down.get(event.pointerId);
    if (!before) return;
    if (event.pointerId === this.#painting) {
      const all = event.getCoalescedEvents?.() ?? [];
      for (const one of all.length ? all : [event]) this.hand.move(this.#at(one));
    } else if (event.pointerId === this.#panning) {
      this.hand.pan(at[0] - before[0], at[1] - before[1]);
    } else if (this.#pinched && this.#down.size === 2) {
      this.#spread(event.pointerId, before, at);
    }
    this.#down.set(event.pointerId, at);
  }

  #spread(pointerId, before, after) {
    const [other] = [...this.#down].filter(([id]) => id !== pointerId).map(([, at]) => at);
    const apart = (at) => Math.max(Math.hypot(at[0] - other[0], at[1] - other[1]), 1);
    const middle = (at) => [(at[0] + other[0]) / 2, (at[1] + other[1]) / 2];
    const [from, to] = [middle(before), middle(after)];
    this.hand.pan(to[0] - from[0], to[1] - from[1]);
    this.hand.zoom(apart(after) / apart(before), to);
  }

  /** Also when the browser takes the finger away: what was painted until then stays, and can be undone. */
  #lift(event) {
    this.#down.delete(event.pointerId);
    if (event.pointerId === this.#painting) {
      this.#painting = null;
      this.hand.end();
    }
    if (event.pointerId === this.#panning) this.#panning = null;
    if (!this.#down.size) this.#pinched = false;
  }

  #wheel(event) {
    event.preventDefault();
    this.hand.zoom(Math.exp(-event.deltaY * WHEEL_STEP), this.#at(event));
  }
}
