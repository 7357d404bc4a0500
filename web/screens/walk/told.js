/** What was just kept, or what went wrong, said above the buttons at the thumb; nothing is said before it is true. */

import { button, element, redraw } from "../dom.js";

export class Told {
  #last = Promise.resolve();

  /** @param {{say: (words: string) => void}} notices where trouble is said once this screen was left */
  constructor(notices) {
    this.notices = notices;
    this.line = element("p", { class: "saved", role: "status" });
    this.trouble = element("div", { class: "trouble", role: "alert" });
    this.node = element("div", { class: "told" }, this.line, this.trouble);
  }

  /** Something could not be kept, and nothing was kept since. */
  get isInTrouble() {
    return this.trouble.hasChildNodes();
  }

  saved(words) {
    redraw(this.trouble);
    this.line.textContent = words;
  }

  /** @param {string} words @param {() => void} [again] */
  failed(words, again) {
    if (!this.node.isConnected) return this.notices.say(words);
    this.line.textContent = "";
    const ways = [
      again && button("Try again", again, { class: "strong", id: "keep-again" }),
      button("Go on without it", () => this.saved("")),
    ];
    redraw(this.trouble, element("p", {}, words), element("div", { class: "ways" }, ways.filter(Boolean)));
  }

  /**
   * Says `words` once `work` is done; says what went wrong, with a way to try again, when it fails. One after the
   * other, so that what a tap does rests on what became of the tap before it.
   *
   * @returns {Promise<boolean>} whether it was kept
   */
  keep(work, words) {
    this.#last = this.#last.then(() => this.#keepNow(work, words));
    return this.#last;
  }

  async #keepNow(work, words) {
    try {
      await work();
      this.saved(typeof words === "function" ? words() : words);
      return true;
    } catch (problem) {
      this.failed(whyNotKept(problem), () => this.keep(work, words));
      return false;
    }
  }
}

/** The journal's own errors say in full what happened and what is safe; the browser's words want a sentence around them. */
export function whyNotKept(problem) {
  const isBrowsers = [DOMException, TypeError, RangeError].some((kind) => problem instanceof kind);
  return isBrowsers ? `This was not saved (${problem.message}). What was saved before is safe.` : problem.message;
}
