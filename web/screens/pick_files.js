/** A button that opens the file picker for many photos and starts taking them in. */

import { element } from "./dom.js";

const KINDS = "image/*,.heic,.heif,.tif,.tiff";

export function pickFiles(context, words) {
  const input = element("input", {
    type: "file",
    multiple: true,
    accept: KINDS,
    class: "unseen",
    onchange: () => {
      if (!input.files.length) return;
      context.uploads.add([...input.files]);
      input.value = "";
      context.go("#/photos/in");
    },
  });
  return element("label", { class: "primary pick" }, input, words);
}
