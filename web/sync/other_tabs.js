/** Tells the journal's other tabs that something on the disk has changed, and hears it from them. */

const CHANNEL = "planting-trial-journal";

/**
 * @param {typeof BroadcastChannel | undefined} Channel
 * @param {Object<string, () => Promise<void>>} listeners by what has changed
 * @returns {{tell: (what: string) => void}}
 */
export function otherTabs(Channel, listeners) {
  if (!Channel) return { tell: () => {} };
  const channel = new Channel(CHANNEL);
  channel.onmessage = ({ data }) => listeners[data]?.().catch(() => {});
  return { tell: (what) => channel.postMessage(what) };
}
