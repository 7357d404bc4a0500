/** Photos set aside: not part of the trial, but kept. */

import { button, element, link, live } from "./dom.js";
import { momentInWords } from "../words.js";
import { thumbnail } from "./picture.js";
import { takeBack } from "./settle.js";

export function setAsideScreen(context) {
  const { store } = context.journal;
  const draw = () => {
    const photos = store.all("photo").filter((photo) => photo.fields.match === "set aside");
    if (!photos.length) return element("p", {}, "No photo is set aside.");
    return element(
      "ul",
      { class: "tray" },
      photos.map((photo) => item(context, photo)),
    );
  };
  return {
    title: "Photos set aside",
    nodes: [
      element("h1", {}, "Photos set aside"),
      element("p", { class: "quiet" }, "Kept, but not part of the trial."),
      live(store, ["photo"], draw),
    ],
  };
}

function item(context, photo) {
  return element(
    "li",
    {},
    link(
      `#/photos/${photo.id}`,
      { class: "tray-picture" },
      thumbnail(photo, `Photo ${photo.fields.file_name}`),
    ),
    element(
      "div",
      { class: "words" },
      element("p", {}, momentInWords(photo.fields.taken_at)),
      button("Take it back", () => takeBack(context, photo), { id: `back-${photo.id}` }),
    ),
  );
}
