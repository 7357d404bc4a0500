/** Keeps the store in step with the server: often while photos are being measured, seldom otherwise. */

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
    const waiting = journal.store.all("photo").some((photo) => photo.fields.measuring === "waiting");
    clock.setTimeout(round, waiting ? OFTEN_MS : SELDOM_MS);
  };
  clock.setTimeout(round, OFTEN_MS);
}
