/** Keeps the store in step with the server: often while photos are being measured, seldom otherwise. */

import { isMeasuring } from "../store/queries.js";

const OFTEN_MS = 3000;
const SELDOM_MS = 30000;

/**
 * @param {import("./journal.js").Journal} journal
 * @param {(problem: Error | null) => void} tell hears of each round: null when it went well
 * @param {{setTimeout: Function}} clock
 */
export function keepInStep(journal, tell, clock = globalThis) {
  const round = async () => {
    let problem = null;
    try {
      await journal.pull();
    } catch (caught) {
      problem = caught;
    }
    tell(problem);
    clock.setTimeout(round, isMeasuring(journal.store) ? OFTEN_MS : SELDOM_MS);
  };
  clock.setTimeout(round, OFTEN_MS);
}
