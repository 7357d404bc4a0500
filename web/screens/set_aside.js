/** Photos set aside: not part of the trial, but kept. */

import { button, element, live } from "./dom.js";
import { photoItem } from "./photo_item.js";
import { takeBack } from "./settle.js";

export function setAsideScreen(context) {
  const { store } = context.journal;
  const draw = () => {
    const photos = store.all("photo").filter((photo) => photo.fields.match === "set aside");
    if (!photos.length) return element("p", {}, "No photo is set aside.");
    return element(
      "ul",
      { class: "tray" },
      photos.map((photo) =>
        photoItem(photo, button("Take it back", () => takeBack(context, photo), { id: `back-${photo.id}` })),
      ),
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
