/** A button that opens the file picker, for many photos or for a whole folder, and starts taking them in. */

import { element } from "./dom.js";

const KINDS = "image/*,.heic,.heif,.tif,.tiff";

export const pickFiles = (context, words) =>
  picker(context, { accept: KINDS }, element("label", { class: "primary pick" }, words));

/** Everything in the folder is sent; what is no photo is named with the reason, as when a folder is dropped. */
export const pickFolder = (context, words) =>
  picker(context, { webkitdirectory: true }, element("label", { class: "secondary pick" }, words));

function picker(context, what, label) {
  const input = element("input", {
    type: "file",
    multiple: true,
    ...what,
    class: "unseen",
    onchange: () => {
      if (!input.files.length) return;
      context.uploads.add([...input.files]);
      input.value = "";
      context.go("#/photos/in");
    },
  });
  label.prepend(input);
  return label;
}
