/** One photo in a list of photos that want a decision: its picture, its moment, and what the list adds. */

import { element, link } from "./dom.js";
import { momentInWords } from "../words.js";
import { thumbnail } from "./picture.js";

export const photoItem = (photo, ...more) =>
  element(
    "li",
    {},
    link(`#/photos/${photo.id}`, { class: "tray-picture" }, thumbnail(photo, `Photo ${photo.fields.file_name}`)),
    element("div", { class: "words" }, element("p", {}, momentInWords(photo.fields.taken_at)), ...more),
  );
