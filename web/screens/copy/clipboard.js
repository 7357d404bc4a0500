/** What is copied goes into the clipboard as text, or as HTML with its source beside it; a picture as PNG. */

/** Browsers lend the clipboard to pages of this computer and to pages over https only. */
export const mayCopy = () => Boolean(globalThis.navigator?.clipboard?.write && globalThis.ClipboardItem);

/** @param {"text" | "markdown" | "html"} format @param {{text: string, markdown: string, html: string}} copies */
export async function copyAs(format, copies) {
  const source = copies[format];
  if (format !== "html") return navigator.clipboard.writeText(source);
  // Rich text where it is pasted as such; the source in a field that takes plain text only.
  const item = { "text/html": new Blob([source], { type: "text/html" }), "text/plain": new Blob([source], { type: "text/plain" }) };
  return navigator.clipboard.write([new ClipboardItem(item)]);
}

export const copyText = (text) => navigator.clipboard.writeText(text);

/** @param {Promise<Blob>} picture a PNG; given as a promise, so that Safari still counts the tap */
export const copyPicture = (picture) => navigator.clipboard.write([new ClipboardItem({ "image/png": picture })]);
