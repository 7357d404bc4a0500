/** The pictures that a report shows: suggested from what was measured, chosen by the person. */

import { button, element, link, redraw } from "../dom.js";
import { PICTURES } from "../../store/verdicts.js";
import { dayInWords, shortDayInWords, weekInWords } from "../../words.js";
import { pictureAddress } from "../../store/waiting_pictures.js";
import { thumbnail } from "../picture.js";
import { PICTURE_WORDS } from "./words.js";

/** @typedef {{photo: Object, isChosen: boolean}} Picture */

/**
 * What stands for each use: what was chosen, else what the measurements suggest; the best is never nothing while there
 * is a photo.
 *
 * @param {Object} fields of the verdict @param {Object<string, string>} suggested @param {Object[]} photos oldest first
 * @returns {Object<string, Picture | null>}
 */
export function picturesShown(fields, suggested, photos) {
  const byId = new Map(photos.map((photo) => [photo.id, photo]));
  const chosen = fields.pictures ?? {};
  const shown = (use) => {
    const own = byId.get(chosen[use]);
    const photo = own ?? byId.get(suggested[use]) ?? (use === "best" || use === "latest" ? photos.at(-1) : null);
    return photo ? { photo, isChosen: Boolean(own) } : null;
  };
  return Object.fromEntries(PICTURES.map((use) => [use, shown(use)]));
}

/** The picture first, large. @param {Picture | null} best @param {(photo: Object) => string} whereOf */
export function leadingPicture(best, name, whereOf) {
  if (!best) return element("p", { class: "quiet" }, "There is no photo of it. ", link("#/photos/in", {}, "Take photos in"));
  const { photo } = best;
  return element(
    "figure",
    { class: "leading-picture" },
    link(
      `#/photos/${photo.id}`,
      {},
      element("img", {
        src: pictureAddress(photo.id, "screen"),
        alt: `${name}, ${dayInWords(photo.fields.taken_at)}`,
        width: photo.fields.width,
        height: photo.fields.height,
      }),
    ),
    element("figcaption", { class: "quiet" }, whereOf(photo)),
  );
}

/**
 * @param {import("./verdict_record.js").VerdictRecord} verdict @param {Object<string, Picture | null>} shown
 * @param {Object[]} photos @param {(photo: Object) => string} whereOf @param {Function} keep
 */
export function picturesPart(verdict, shown, photos, whereOf, keep) {
  if (!photos.length) return null;
  const choose = async (use) => {
    const id = await choosePhoto(photos, PICTURE_WORDS[use], shown[use]?.photo.id, whereOf);
    if (id === null) return;
    const chosen = { ...verdict.fields.pictures, [use]: id || null };
    const pictures = Object.fromEntries(PICTURES.filter((one) => chosen[one]).map((one) => [one, chosen[one]]));
    await keep(() => verdict.note({ pictures: Object.keys(pictures).length ? pictures : null }), id ? "Picture chosen." : "As suggested.");
  };
  return element(
    "section",
    {},
    element("h2", {}, "Pictures for the reports"),
    element("p", { class: "quiet" }, "Suggested from what was measured; tap one to choose another."),
    element(
      "ul",
      { class: "picture-uses" },
      PICTURES.map((use) => element("li", {}, useButton(use, shown[use], () => choose(use)))),
    ),
  );
}

function useButton(use, picture, onclick) {
  const when = picture ? shortDayInWords(picture.photo.fields.taken_at) : "no photo";
  const how = picture ? (picture.isChosen ? "chosen" : "suggested") : "choose one";
  return element(
    "button",
    { type: "button", onclick, id: `picture-${use}` },
    picture ? thumbnail(picture.photo) : element("span", { class: "thumb none" }, "none"),
    element("b", {}, PICTURE_WORDS[use]),
    element("span", { class: "quiet" }, `${when}, ${how}`),
  );
}

/** @returns {Promise<string | null>} the photo's id; "" for what is suggested; null when it was closed */
function choosePhoto(photos, title, now, whereOf) {
  return new Promise((resolve) => {
    const close = (answer) => {
      resolve(answer);
      dialog.close();
    };
    const list = element("ul", { class: "choices photo-choices" });
    redraw(
      list,
      photos.map((photo) =>
        element(
          "li",
          {},
          element(
            "button",
            { type: "button", onclick: () => close(photo.id), "aria-pressed": String(photo.id === now) },
            thumbnail(photo),
            element("span", { class: "words" }, whereOf(photo)),
          ),
        ),
      ),
    );
    const dialog = element(
      "dialog",
      { "aria-label": title, onclose: () => (resolve(null), dialog.remove()) },
      element("h2", {}, title),
      button("As suggested", () => close(""), { id: "as-suggested" }),
      element("span", {}),
      list,
      button("Close", () => close(null)),
    );
    document.body.append(dialog);
    dialog.showModal();
  });
}

/** "22 August 2026, week 14, Trough 3" */
export function photoWords(photo, planting, planterName) {
  return [dayInWords(photo.fields.taken_at), weekInWords(planting?.fields.planted_on, photo.fields.taken_at), planterName]
    .filter(Boolean)
    .join(", ");
}
