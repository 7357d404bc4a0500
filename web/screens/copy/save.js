/** A file made on this device, handed to the person. */

import { link } from "../dom.js";

const LONGEST_NAME = 80;

/** @param {Blob} blob @param {string} name with its ending */
export function save(blob, name) {
  const address = URL.createObjectURL(blob);
  const way = link(address, { download: name });
  document.body.append(way);
  way.click();
  way.remove();
  // The download has begun by then; it keeps the blob itself.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

/** A name that every disk takes: lower-case ASCII letters, digits and hyphens. @param {string} words @param {string} otherwise */
export function fileName(words, otherwise) {
  const plain = words.normalize("NFKD").replace(/[^\x20-\x7e]/g, "").toLowerCase();
  const name = plain.replace(/[^a-z0-9]+/g, "-").slice(0, LONGEST_NAME).replace(/^-+|-+$/g, "");
  return name || otherwise;
}
