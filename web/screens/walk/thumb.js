/** The small picture of a photo, also of one that has not been sent yet. */

import { element } from "../dom.js";

export function walkThumb(journal, photo, alt = "") {
  if (!photo) return element("span", { class: "thumb none" }, "no photo yet");
  return element("img", {
    class: "thumb",
    src: journal.pictureAddress(photo.id, "thumb"),
    alt,
    loading: "lazy",
    decoding: "async",
    width: 320,
    height: 240,
  });
}
