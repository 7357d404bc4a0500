/**
 * SHA-256 as FIPS 180-4 describes it, in plain JavaScript: `crypto.subtle` is missing on plain http.
 * The constants are computed from their definition (section 4.2.2 and 5.3.3) in whole numbers.
 */

const BLOCK_BYTES = 64;
const SLICE_BYTES = 1 << 20;

const PRIMES = firstPrimes(64);
const ROUND_CONSTANTS = Int32Array.from(PRIMES, (prime) => fractionBits(prime, 3n));
const START = Int32Array.from(PRIMES.slice(0, 8), (prime) => fractionBits(prime, 2n));

function firstPrimes(count) {
  const primes = [];
  for (let number = 2; primes.length < count; number++) {
    if (primes.every((prime) => number % prime)) primes.push(number);
  }
  return primes;
}

/** The first 32 bits of the fraction of the square or cube root of a prime. */
function fractionBits(prime, degree) {
  const target = BigInt(prime) << (32n * degree);
  let low = 0n;
  let high = 1n << 40n;
  while (high - low > 1n) {
    const middle = (low + high) >> 1n;
    if (middle ** degree <= target) low = middle;
    else high = middle;
  }
  return Number(BigInt.asIntN(32, low));
}

/** Takes bytes piece by piece, so that a large file need not block: `update(bytes)`, at last `digest()`. */
export class Sha256 {
  #state = START.slice();
  #words = new Int32Array(64);
  #rest = new Uint8Array(BLOCK_BYTES);
  #restLength = 0;
  #length = 0;

  /** @param {Uint8Array} bytes */
  update(bytes) {
    this.#length += bytes.length;
    let at = 0;
    if (this.#restLength) {
      at = Math.min(BLOCK_BYTES - this.#restLength, bytes.length);
      this.#rest.set(bytes.subarray(0, at), this.#restLength);
      this.#restLength += at;
      if (this.#restLength < BLOCK_BYTES) return this;
      this.#takeBlock(this.#rest, 0);
    }
    for (; at + BLOCK_BYTES <= bytes.length; at += BLOCK_BYTES) this.#takeBlock(bytes, at);
    this.#rest.set(bytes.subarray(at));
    this.#restLength = bytes.length - at;
    return this;
  }

  /** @returns {Uint8Array} 32 bytes; nothing can be added afterwards */
  digest() {
    const length = this.#length;
    const padding = new Uint8Array(((119 - (length % BLOCK_BYTES)) % BLOCK_BYTES) + 9);
    padding[0] = 0x80;
    const tail = new DataView(padding.buffer, padding.length - 8);
    tail.setUint32(0, Math.floor(length / 2 ** 29));
    tail.setUint32(4, (length * 8) >>> 0);
    this.update(padding);
    const bytes = new Uint8Array(32);
    const view = new DataView(bytes.buffer);
    this.#state.forEach((word, index) => view.setInt32(4 * index, word));
    return bytes;
  }

  #takeBlock(bytes, at) {
    const w = this.#words;
    for (let t = 0; t < 16; t++, at += 4) {
      w[t] = (bytes[at] << 24) | (bytes[at + 1] << 16) | (bytes[at + 2] << 8) | bytes[at + 3];
    }
    for (let t = 16; t < 64; t++) {
      const early = w[t - 15];
      const late = w[t - 2];
      const s0 = ((early >>> 7) | (early << 25)) ^ ((early >>> 18) | (early << 14)) ^ (early >>> 3);
      const s1 = ((late >>> 17) | (late << 15)) ^ ((late >>> 19) | (late << 13)) ^ (late >>> 10);
      w[t] = (w[t - 16] + s0 + w[t - 7] + s1) | 0;
    }
    let [a, b, c, d, e, f, g, h] = this.#state;
    for (let t = 0; t < 64; t++) {
      const s1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
      const t1 = (h + s1 + ((e & f) ^ (~e & g)) + ROUND_CONSTANTS[t] + w[t]) | 0;
      const s0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
      const t2 = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      h = g;
      g = f;
      f = e;
      e = (d + t1) | 0;
      d = c;
      c = b;
      b = a;
      a = (t1 + t2) | 0;
    }
    [a, b, c, d, e, f, g, h].forEach((word, index) => (this.#state[index] += word));
  }
}

/** @param {Uint8Array} bytes @returns {string} 64 hexadecimal digits */
export const hexOf = (bytes) => [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");

/**
 * The hash of a whole file, by the browser's own code where it is to be had, else in slices between which the page lives on.
 *
 * @param {ArrayBuffer} buffer
 * @param {SubtleCrypto | undefined} subtle
 * @returns {Promise<string>} 64 hexadecimal digits
 */
export async function hashOf(buffer, subtle = globalThis.crypto?.subtle) {
  if (subtle) return hexOf(new Uint8Array(await subtle.digest("SHA-256", buffer)));
  const hash = new Sha256();
  for (let at = 0; at < buffer.byteLength; at += SLICE_BYTES) {
    hash.update(new Uint8Array(buffer, at, Math.min(SLICE_BYTES, buffer.byteLength - at)));
    await new Promise((done) => setTimeout(done));
  }
  return hexOf(hash.digest());
}
