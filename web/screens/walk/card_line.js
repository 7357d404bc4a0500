/** Which planting the camera sees, by the card in the picture, read while a person looks. */

import { button, element, redraw } from "../dom.js";
import { plantingOfCard } from "../../store/walk.js";
import { placeInWords } from "./words.js";

const EVERY_MS = 350;
/** A card that was read stays said for so long, so that the line does not flicker as the hand moves. */
const STAYS_MS = 4000;

export class CardLine {
  #stopped = false;
  #seenAt = 0;
  #code = null;

  /**
   * @param {Object} visit
   * @param {{go: (plantingId: string) => void, useCard: (code: string) => void, heard: (code: string | null) => void}} ways
   */
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
   * @param {HTMLVideoElement} video @param {import("../../card_reading/card_reader.js").CardReader} reader
   */
  async watch(video, reader) {
    this.#say("No card seen yet.");
    while (!this.#stopped) {
      if (!document.hidden) await this.#look(video, reader);
      await new Promise((done) => setTimeout(done, EVERY_MS));
    }
  }

  stop() {
    this.#stopped = true;
  }

  async #look(video, reader) {
    try {
      const found = await reader.read(video);
      if (!this.#stopped) this.heard(found?.code ?? null);
    } catch (problem) {
      if (!this.#stopped) this.#say(problem.message);
      this.#stopped = true;
    }
  }

  /** What a look at the picture found. */
  heard(code) {
    const now = performance.now();
    if (code) this.#seenAt = now;
    else if (now - this.#seenAt < STAYS_MS) return;
    const isNews = code !== this.#code;
    this.#code = code;
    this.draw();
    if (isNews) this.ways.heard(code);
  }

  /** Said anew only where it changed: what a person is about to tap stays the same button. */
  draw() {
    const { visit, ways } = this;
    const code = this.#code;
    if (!visit.planting) return this.#say("");
    if (!code) return this.#say("No card seen now.");
    const here = placeInWords(visit.store, visit.planting);
    const seen = plantingOfCard(visit.store, code, visit.day);
    if (seen?.id === visit.plantingId) return this.#say(`Card read: this is ${here}.`);
    if (seen) {
      const there = placeInWords(visit.store, seen);
      const go = { id: "go-there", class: "strong", words: `Go to ${there}`, tap: () => ways.go(seen.id) };
      return this.#say(`This card is ${there}, not ${here}.`, go);
    }
    const give = { id: "use-card", words: `Give it to ${here}`, tap: () => ways.useCard(code) };
    this.#say(`This card, ${code}, belongs to no planting yet.`, give);
  }

  #say(words, way = null) {
    if (this.words.textContent === words) return;
    this.words.textContent = words;
    redraw(this.act, way && button(way.words, way.tap, { id: way.id, class: way.class }));
  }
}
