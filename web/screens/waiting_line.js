/** The line on every screen that says how it stands with sending, and leads to the screen about it. */

import { link } from "./dom.js";
import { countInWords } from "../words.js";

export function waitingLine(queue) {
  const words = link("#/waiting", { class: "waiting-line" });
  const update = () => {
    const { text, wantsAnEye } = inAFewWords(queue.state);
    if (words.textContent !== text) words.textContent = text;
    words.classList.toggle("signal", wantsAnEye);
  };
  queue.watch(update);
  update();
  return words;
}

/** @param {Object} state of the queue @returns {{text: string, wantsAnEye: boolean}} */
export function inAFewWords(state) {
  const eyes = state.attention.length + state.conflicts.length;
  const parts = [
    REACH_WORDS[state.reach],
    state.lasting ? null : "Nothing is kept in this window",
    eyes ? `${eyes} to look at` : null,
    state.sending ? sendingInWords(state.sending) : null,
    state.waiting && !state.sending ? countInWords(state.waiting, "waiting", "waiting") : null,
  ].filter(Boolean);
  const wantsAnEye = eyes > 0 || !state.lasting || ["not paired", "another journal"].includes(state.reach);
  return { text: parts.join(" · ") || "Everything sent", wantsAnEye };
}

const sendingInWords = ({ done, of }) => `Sending ${Math.min(done + 1, of)} of ${of}`;

const REACH_WORDS = { no: "No signal", "not paired": "Not paired", "another journal": "Another journal" };
