/** Which planting the camera sees, by the card in the picture, read while a person looks. */

import { button, element } from "../dom.js";
import { plantingOfCard } from "../../store/walk.js";
import { placeInWords } from "./words.js";

const EVERY_MS = 350;
const FRAME_PX = 960;
/** A card that was read stays said for so long, so that the line does not flicker as the hand moves. */
const STAYS_MS = 4000;

export class CardLine {
  #stopped = false;
  #seenAt = 0;
  #code = null;

  /** @param {{visit: Object, go: (plantingId: string) => void, useCard: (code: string) => void}} ways */
  constructor(visit, ways) {
    Object.assign(this, { visit, ways });
    this.words = element("p", { class: "card-words", "aria-live": "polite" });
    this.act = element("div", { class: "ways" });
    this.node = element("div", { class: "card-line" }, this.words, this.act);
  }

  /** The card seen in these last seconds, or null. */
  get code() {
    return this.#code;
  }

  /**
   * Reads on until `stop`.
   *
   * @param {{frame: (px: number) => ImageData | null}} camera @param {{read: (image: ImageData) => Promise<{code: string} | null>}} reader
   */
  async watch(camera, reader) {
    this.#say("No card seen yet.");
    while (!this.#stopped) {
      if (!document.hidden) await this.#look(camera, reader);
      await new Promise((done) => setTimeout(done, EVERY_MS));
    }
  }

  stop() {
    this.#stopped = true;
  }

  async #look(camera, reader) {
    try {
      const image = camera.frame(FRAME_PX);
      const found = image && (await reader.read(image));
      if (!this.#stopped) this.heard(found?.code ?? null);
    } catch {
      this.#stopped = true;
      this.#say("Cards cannot be read on this phone now. Photos are taken all the same; check the name above.");
    }
  }

  /** What a look at the picture found. */
  heard(code) {
    const now = performance.now();
    if (code) this.#seenAt = now;
    else if (now - this.#seenAt < STAYS_MS) return;
    if (code === this.#code) return;
    this.#code = code;
    this.draw();
    this.ways.heard?.(code);
  }

  draw() {
    const { visit, ways } = this;
    const code = this.#code;
    if (!code) return this.#say("No card seen now.");
    const here = placeInWords(visit.store, visit.planting);
    const seen = plantingOfCard(visit.store, code, visit.day);
    if (!seen)
      return this.#say(
        `This card, ${code}, belongs to no planting yet.`,
        button(`Give it to ${here}`, () => ways.useCard(code), { id: "use-card" }),
      );
    if (seen.id === visit.plantingId) return this.#say(`Card read: this is ${here}.`);
    const there = placeInWords(visit.store, seen);
    this.#say(
      `This card is ${there}, not ${here}.`,
      button(`Go to ${there}`, () => ways.go(seen.id), { class: "strong", id: "go-there" }),
    );
  }

  #say(words, ...acts) {
    if (this.words.textContent !== words) this.words.textContent = words;
    this.act.replaceChildren(...acts);
  }
}
