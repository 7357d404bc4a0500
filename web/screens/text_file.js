/** The words in a text file. Spreadsheets write CSV as UTF-8, as UTF-16 or, on older Windows, in its own code page. */

/** @param {File} file @returns {Promise<string | null>} null where it is no text */
export async function textOf(file) {
  const text = decoded(new Uint8Array(await file.arrayBuffer()));
  return text.includes("\0") ? null : text;
}

function decoded(bytes) {
  const wide = wideEncoding(bytes);
  if (wide) return new TextDecoder(wide).decode(bytes);
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder("windows-1252").decode(bytes);
  }
}

const LOOKED_AT = 200;

/** UTF-16 by its mark, or by every second byte being empty, as it is in lists that are mostly Latin letters. */
function wideEncoding(bytes) {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return "utf-16le";
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return "utf-16be";
  const first = [...bytes.slice(0, LOOKED_AT)];
  const empty = (parity) => first.filter((byte, at) => at % 2 === parity && byte === 0).length;
  const most = first.length * 0.4;
  if (empty(1) > most && !empty(0)) return "utf-16le";
  return empty(0) > most && !empty(1) ? "utf-16be" : null;
}
