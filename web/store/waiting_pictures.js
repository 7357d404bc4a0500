/** Addresses (blob:) at which photos and recordings that still wait can be seen and heard. */

/** So long after it was sent, so that a picture on the page does not go blank before the server's is there. */
const KEPT_AFTER_SENDING_MS = 60_000;

/** One for the page, as the addresses themselves are. @type {Map<string, {thumb: string | null, whole: string | null}>} */
const addresses = new Map();

/** @param {string} id @param {"thumb" | "whole"} size @returns {string | null} null when it does not wait or is not read yet */
function waitingAddress(id, size) {
  const known = addresses.get(id);
  return known?.[size] ?? known?.[size === "thumb" ? "whole" : "thumb"] ?? null;
}

/** @param {string} photoId @param {"thumb" | "screen"} size */
export const pictureAddress = (photoId, size) =>
  waitingAddress(photoId, size === "thumb" ? "thumb" : "whole") ??
  `/api/photos/${photoId}/picture?size=${size}`;

export const soundAddress = (recordingId) =>
  waitingAddress(recordingId, "whole") ?? `/api/recordings/${recordingId}/sound`;

export class WaitingPictures {
  #outbox;

  /** @param {import("./outbox.js").Outbox} outbox */
  constructor(outbox) {
    this.#outbox = outbox;
  }

  /** From bytes at hand. */
  hold(id, { bytes, mime, thumb }) {
    addresses.set(id, {
      thumb: thumb ? blobAddress(thumb, "image/jpeg") : null,
      whole: bytes ? blobAddress(bytes, mime) : null,
    });
  }

  /** Reads what waits from an earlier visit: the small pictures first, then one file after the other. */
  async readAll(entries, tell) {
    const missing = entries.filter((entry) => entry.kind !== "changes" && !addresses.has(entry.id));
    for (const entry of missing) {
      const thumb = await this.#outbox.thumb(entry.id);
      if (thumb) this.hold(entry.id, { thumb: thumb.bytes });
    }
    if (missing.length) tell();
    for (const entry of missing) {
      const file = await this.#outbox.file(entry.id);
      const known = addresses.get(entry.id) ?? { thumb: null };
      if (file) addresses.set(entry.id, { ...known, whole: blobAddress(file.bytes, file.mime) });
    }
    if (missing.length) tell();
  }

  /** Lets go of those that no longer wait. @param {Set<string>} waiting ids */
  keepOnly(waiting) {
    for (const [id, { thumb, whole }] of addresses) {
      if (waiting.has(id)) continue;
      addresses.delete(id);
      setTimeout(
        () => [thumb, whole].forEach((address) => address && URL.revokeObjectURL(address)),
        KEPT_AFTER_SENDING_MS,
      );
    }
  }
}

const blobAddress = (bytes, mime) => URL.createObjectURL(new Blob([bytes], { type: mime }));
