/** A dialog with all plantings, each with its last photo; answers the id of the one chosen, or null. */

import { button, element, freshId, redraw } from "./dom.js";
import { describePlanting, photosByPlanting, plantingsInWalkOrder } from "../store/queries.js";
import { folded } from "../store/search.js";
import { cultivarInWords, shortDayInWords } from "../words.js";
import { cultivarName } from "./names.js";
import { thumbnail } from "./picture.js";

/** @returns {Promise<string | null>} */
export function choosePlanting(store, title, firstIds = []) {
  return new Promise((resolve) => {
    const photos = photosByPlanting(store);
    const year = ({ fields }) => store.get("trial", fields.trial_id)?.fields.year ?? 0;
    const ranked = plantingsInWalkOrder(store).sort(
      (a, b) => firstIds.includes(b.id) - firstIds.includes(a.id) || year(b) - year(a),
    );
    const list = element("ul", { class: "choices" });
    const searchId = freshId("search");
    const search = element("input", {
      id: searchId,
      type: "search",
      autocomplete: "off",
      oninput: () => draw(),
    });
    const close = (id) => {
      resolve(id);
      dialog.close();
    };
    const draw = () => {
      const found = ranked
        .map((planting) => describePlanting(store, planting.id))
        .filter((known) => fits(known, search.value));
      const none = element("li", { class: "quiet" }, "No planting fits these words.");
      redraw(
        list,
        found.length ? found.map((known) => choice(known, photos.get(known.planting.id), close)) : none,
      );
    };
    draw();
    const dialog = element(
      "dialog",
      { "aria-label": title, onclose: () => (resolve(null), dialog.remove()) },
      element("h2", {}, title),
      element("label", { for: searchId }, "Search"),
      search,
      list,
      button("Close", () => close(null)),
    );
    document.body.append(dialog);
    dialog.showModal();
  });
}

export function fits(known, words) {
  const text = [
    cultivarInWords(known.cultivar),
    known.planter?.fields.name,
    known.planting.fields.card_code,
    known.trial?.fields.title,
    known.trial?.fields.year,
    ...(known.cultivar?.fields.earlier_names ?? []),
  ].join(" ");
  const written = folded(text);
  return folded(words)
    .split(/\s+/)
    .every((word) => written.includes(word));
}

function choice(known, photos, close) {
  const last = photos?.at(-1);
  const when = last ? `last photo ${shortDayInWords(last.fields.taken_at)}` : "no photo yet";
  const words = [
    cultivarName(known.cultivar),
    element("span", {}, [known.planter?.fields.name ?? "no planter", known.season].filter(Boolean).join(", ")),
    element("span", { class: "quiet" }, when),
  ];
  return element(
    "li",
    {},
    element(
      "button",
      { type: "button", onclick: () => close(known.planting.id) },
      last ? thumbnail(last) : element("span", { class: "thumb none" }),
      element("span", { class: "words" }, words),
    ),
  );
}
