/** Asks for addresses before a screen does, so that the service worker keeps the answers: few at a time, while the page is idle. */

/**
 * @param {string[]} addresses the most wanted first
 * @param {{fetch: typeof fetch, mayFetch: () => boolean, idle: () => Promise<void>, atOnce: number,
 *   came?: (address: string, response: Response) => void}} how it ends early when nothing may be fetched or one does not arrive
 * @returns {Promise<boolean>} whether all were asked for
 */
export async function bringAhead(addresses, { fetch, mayFetch, idle, atOnce, came = () => {} }) {
  const left = [...addresses];
  let reached = true;
  const next = async () => {
    while (left.length && mayFetch()) {
      await idle();
      const address = left.shift();
      if (!address) return;
      const response = await fetch(address).catch(() => null);
      if (!response) {
        reached = false;
        return void left.splice(0);
      }
      await response.arrayBuffer().catch(() => {});
      if (response.ok) came(address, response);
    }
  };
  await Promise.all(Array.from({ length: atOnce }, next));
  return reached && !left.length;
}

/** Rounds that overlap are one. @param {() => Promise<any>} round */
export function oneAtATime(round) {
  let running = null;
  return () => {
    running ??= round().finally(() => {
      running = null;
    });
    return running;
  };
}

const LATER_MS = 60_000;

/** Brings what is missing after records of these kinds have changed, seldom enough not to be felt; later again where it could not. */
export function keepBringing(bring, store, kinds, afterMs, clock = globalThis) {
  let planned = false;
  const plan = (waitMs = afterMs) => {
    if (planned) return;
    planned = true;
    clock.setTimeout(async () => {
      planned = false;
      if (!(await bring().catch(() => false))) plan(LATER_MS);
    }, waitMs);
  };
  store.watch((changed) => kinds.some((kind) => changed.has(kind)) && plan());
  plan();
}
