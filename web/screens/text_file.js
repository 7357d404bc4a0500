/** The words in a text file. Spreadsheets write CSV as UTF-8 or, on older Windows, in its own code page. */

/** @param {File} file @returns {Promise<string | null>} null where it is no text */
export async function textOf(file) {
  const text = decoded(await file.arrayBuffer());
  return text.includes("\0") ? null : text;
}

function decoded(bytes) {
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder("windows-1252").decode(bytes);
  }
}
