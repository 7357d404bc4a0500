import { Sha256, hexOf } from "./sha256.js";

/** A random UUID (version 4) that also works on plain http, where `crypto.randomUUID` is not there. */
export function newId() {
  return asUuid(crypto.getRandomValues(new Uint8Array(16)), 4);
}

/**
 * The same id on every phone for the same thing, such as the walk of a trial on a day: a UUID of version 8 (RFC 9562)
 * made of the first 16 bytes of the SHA-256 of the parts, joined by line feeds.
 *
 * @param {...string} parts
 */
export function derivedId(...parts) {
  const hash = new Sha256().update(new TextEncoder().encode(parts.join("\n"))).digest();
  return asUuid(hash.subarray(0, 16), 8);
}

function asUuid(bytes, version) {
  bytes[6] = (bytes[6] & 0x0f) | (version << 4);
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  return [8, 12, 16, 20].reduceRight((text, at) => `${text.slice(0, at)}-${text.slice(at)}`, hexOf(bytes));
}
