/** Keeps this device and the server in step: often while photos are being measured, seldom otherwise, and whenever there is reason to hope. */

import { isMeasuring } from "../store/queries.js";
import { waitMs } from "./backoff.js";

const OFTEN_MS = 3000;
const SELDOM_MS = 30000;

/**
 * @param {import("./journal.js").Journal} journal
 * @param {{clock?: {setTimeout: Function, clearTimeout: Function}, random?: () => number}} [how]
 * @returns {{wake: () => void}} `wake` when the signal is back or the page is seen again
 */
export function keepInStep(journal, { clock = globalThis, random = Math.random } = {}) {
  let timer = null;
  let failed = 0;
  let leastMs = 0;
  const round = async () => {
    clock.clearTimeout(timer);
    try {
      await journal.syncNow();
      failed = 0;
      leastMs = 0;
    } catch (problem) {
      failed += 1;
      leastMs = (problem.retryAfterS ?? 0) * 1000;
    }
    clock.clearTimeout(timer);
    timer = clock.setTimeout(round, pause());
  };
  const pause = () => {
    if (failed) return Math.max(leastMs, Math.min(waitMs(failed, random), SELDOM_MS));
    const usual = isMeasuring(journal.store) ? OFTEN_MS : SELDOM_MS;
    return Math.min(usual, Math.max(journal.nextTryInMs ?? usual, 1000));
  };
  const wake = () => {
    failed = 0;
    round();
  };
  timer = clock.setTimeout(round, OFTEN_MS);
  return { wake };
}
