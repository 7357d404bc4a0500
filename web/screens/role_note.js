/** Says before anything is typed that this device may not write here; nothing where it may. */

import { element, redraw } from "./dom.js";

/** What this device remembers of what it may do, for when the journal cannot be asked. */
const ROLE = "role here";
const MAY_NOT = {
  reader: "This device is a reader of the journal: it may look at all of this, but what is entered here would not be taken.",
  helper: "This device is a helper: it takes photos and notes walks and counts. What is entered here would not be taken; the journal’s owner enters it.",
};

/**
 * @param {{journal: import("../sync/journal.js").Journal}} context
 * @param {{helpersMay?: boolean}} [what] whether a helper may write what this screen is for
 */
export function roleNote({ journal }, { helpersMay = false } = {}) {
  const place = element("div", { class: "role-note" });
  const say = (role) => {
    const words = role === "helper" && helpersMay ? null : MAY_NOT[role];
    redraw(place, words && element("p", { class: "finding", role: "note" }, words));
  };
  const ask = async () => {
    say(await journal.device.get(ROLE));
    const me = await journal.server.getJson("/api/me").catch(() => null);
    if (!me) return;
    say(me.role);
    await journal.device.set(ROLE, me.role);
  };
  ask().catch(() => {});
  return place;
}
