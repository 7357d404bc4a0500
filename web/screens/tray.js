/** The tray: photos that wait for a person to say which planting they show. */

import { button, element, link, live } from "./dom.js";
import { countInWords } from "../words.js";
import { describePlanting, photosByPlanting, unsettledPhotos } from "../store/queries.js";
import { cultivarName } from "./names.js";
import { photoItem } from "./photo_item.js";
import { thumbnail } from "./picture.js";
import { choosePlanting } from "./choose_planting.js";
import { acceptAll, matchPhoto, setAside } from "./settle.js";

export function trayScreen(context) {
  const { store } = context.journal;
  return {
    title: "Photos to settle",
    nodes: [
      element("h1", {}, "Photos to settle"),
      live(store, ["photo", "planting", "planter", "cultivar"], () => tray(context), { class: "stack" }),
    ],
  };
}

function tray(context) {
  const { store } = context.journal;
  const photos = unsettledPhotos(store);
  const aside = store.all("photo").filter((photo) => photo.fields.match === "set aside").length;
  const asideLink = aside
    ? element("p", {}, link("#/photos/set-aside", {}, `${countInWords(aside, "photo")} set aside`))
    : null;
  if (!photos.length)
    return [
      element("p", { class: "lead" }, "Nothing to settle: every photo has its planting."),
      asideLink,
      element("p", {}, link("#/", {}, "Back to Today")),
    ];
  const suggested = photos.filter((photo) => photo.fields.suggested_planting_id).length;
  return [
    element(
      "ul",
      { class: "tray" },
      photos.map((photo) => trayItem(context, photo)),
    ),
    asideLink,
    suggested
      ? element(
          "div",
          { class: "action-bar" },
          button(
            `Accept ${suggested === 1 ? "the suggestion" : `all ${suggested} suggestions`}`,
            () => acceptAll(context, photos),
            { class: "primary", id: "accept-all" },
          ),
        )
      : null,
  ];
}

function trayItem(context, photo) {
  const { store } = context.journal;
  const known = describePlanting(store, photo.fields.suggested_planting_id);
  const choose = async () => {
    const id = await choosePlanting(store, "Which planting is this?", photo.fields.choices ?? []);
    if (id) matchPhoto(context, photo, id);
  };
  return photoItem(
    photo,
    element("p", { class: "quiet" }, photo.fields.match_reason),
    known && suggestion(store, known),
    element(
      "div",
      { class: "ways" },
      known &&
        button("Accept", () => matchPhoto(context, photo, known.planting.id), {
          id: `accept-${photo.id}`,
          class: "strong",
        }),
      button(known ? "Another planting" : "Choose a planting", choose, { id: `choose-${photo.id}` }),
      button("Not part of the trial", () => setAside(context, photo), { id: `aside-${photo.id}` }),
    ),
  );
}

function suggestion(store, known) {
  const last = photosByPlanting(store).get(known.planting.id)?.at(-1);
  return element(
    "p",
    { class: "suggestion" },
    last && thumbnail(last),
    element(
      "span",
      {},
      element("span", { class: "quiet" }, "Suggested: "),
      cultivarName(known.cultivar),
      [", ", known.planter?.fields.name ?? "no planter", known.season && `, ${known.season}`],
    ),
  );
}
