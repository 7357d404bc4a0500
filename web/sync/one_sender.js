/** Only one tab sends at a time: by the browser's locks, or by a lease on the phone's disk where there are none (plain http). */

const LEASE_MS = 15_000;

/**
 * @param {{locks: LockManager | undefined, database: import("../store/database.js").Database, me: string,
 *   clock: {now: () => number, setInterval: Function, clearInterval: Function}}} parts
 * @returns {(send: () => Promise<void>) => Promise<boolean>} false when another tab was sending already
 */
export function oneSender({ locks, database, me, clock }) {
  if (locks) {
    return (send) =>
      locks.request("planting-trial-journal sender", { ifAvailable: true }, async (lock) => {
        if (lock) await send();
        return Boolean(lock);
      });
  }
  return async (send) => {
    if (!(await takeLease(database, me, clock.now()))) return false;
    const renew = clock.setInterval(() => takeLease(database, me, clock.now()).catch(() => {}), LEASE_MS / 3);
    try {
      await send();
    } finally {
      clock.clearInterval(renew);
      await database.write(["facts"], ({ facts }) => facts.delete("sender"), { durability: "relaxed" });
    }
    return true;
  };
}

/** A lease that ran out belonged to a tab that is gone. */
function takeLease(database, me, nowMs) {
  return database.write(
    ["facts"],
    async ({ facts }) => {
      const held = await facts.get("sender");
      const theirs = held && held.by !== me && held.untilMs > nowMs && held.untilMs < nowMs + 2 * LEASE_MS;
      if (!theirs) await facts.put({ by: me, untilMs: nowMs + LEASE_MS }, "sender");
      return !theirs;
    },
    { durability: "relaxed" },
  );
}
