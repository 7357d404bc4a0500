/** Words inside a PNG: its description (PNG, third edition, 11.3.3.4: iTXt, keyword "Description"), which stays with the file. Pure. */

const HEAD_BYTES = 33;
const text = new TextEncoder();

/** @param {Uint8Array} png @param {string} words @returns {Uint8Array} the same picture, described */
export function describedPng(png, words) {
  // Keyword, then: not compressed, no language and no translated keyword given.
  const content = [...text.encode("Description"), 0, 0, 0, 0, 0, ...text.encode(words)];
  const chunk = chunkOf("iTXt", Uint8Array.from(content));
  const made = new Uint8Array(png.length + chunk.length);
  made.set(png.subarray(0, HEAD_BYTES));
  made.set(chunk, HEAD_BYTES);
  made.set(png.subarray(HEAD_BYTES), HEAD_BYTES + chunk.length);
  return made;
}

function chunkOf(type, content) {
  const chunk = new Uint8Array(content.length + 12);
  const view = new DataView(chunk.buffer);
  view.setUint32(0, content.length);
  chunk.set(text.encode(type), 4);
  chunk.set(content, 8);
  view.setUint32(content.length + 8, crc32(chunk.subarray(4, content.length + 8)));
  return chunk;
}

/** As PNG checks its chunks (ISO 3309). @param {Uint8Array} bytes */
function crc32(bytes) {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}
