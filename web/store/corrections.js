/** Corrections of photos by hand: which one counts, and whether the numbers have followed it yet. Pure. */

/** Those of a photo, the one that counts last: what still waits on this device was made after all that was sent. */
export function correctionsOf(store, photoId) {
  const order = ({ seq }) => seq || Infinity;
  return store
    .all("correction")
    .filter(({ fields }) => fields.photo_id === photoId)
    .sort((a, b) => (order(a) === order(b) ? 0 : order(a) - order(b)));
}

/** @returns {import("./record_store.js").Rec | null} */
export const correctionInForce = (store, photoId) => correctionsOf(store, photoId).at(-1) ?? null;

/**
 * How the numbers stand to what was painted: "none" (nothing was), "counted", "waits" (painted since), or
 * "taken back" (the numbers still hold what was taken back).
 */
export function correctionState(correction, measurement) {
  const counted = measurement?.fields.numbers?.by_hand?.id ?? null;
  if (!correction) return counted ? "taken back" : "none";
  return counted === correction.id ? "counted" : "waits";
}

/** Every measurement of a photo, the newest first. */
export function measurementsOf(store, photoId) {
  return store
    .all("measurement")
    .filter(({ fields }) => fields.photo_id === photoId)
    .sort((a, b) => b.seq - a.seq);
}
