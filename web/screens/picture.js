/** One photo, large: the picture, the class overlay over it on demand, the outline of the frame. */

import { button, element, svgElement } from "./dom.js";
import { pictureAddress } from "../store/waiting_pictures.js";
import { countedButton } from "./copy/photo_ways.js";

export const thumbnail = (photo, alt = "") =>
  element("img", {
    class: "thumb",
    src: pictureAddress(photo.id, "thumb"),
    alt,
    loading: "lazy",
    width: 320,
    height: 240,
  });

const CLASSES = [
  ["bloom", "open bloom"],
  ["foliage", "foliage: leaves, stems, buds"],
  ["spent", "spent bloom"],
  ["rest", "grey: everything else"],
];

/**
 * @param {Object} photo record
 * @param {Object | null} measurement record; without one there is no overlay
 * @param {string} alt what the picture shows @param {string} [title] the same with planting and day, for a copy of it
 */
export function picture(photo, measurement, alt, title = alt) {
  const { width, height } = photo.fields;
  const image = element("img", { src: pictureAddress(photo.id, "screen"), alt, width, height });
  const outline = measurement?.fields.frame_polygon
    ? frameOutline(photo, measurement.fields.frame_polygon)
    : null;
  const stage = element("div", { class: "stage" }, image, outline);
  stage.style.setProperty("--shape", `${width} / ${height}`);
  if (!measurement) return element("figure", { class: "picture" }, stage);
  const legend = classLegend();
  const address = classesAddress(photo, measurement);
  const copy = countedButton(address, title, CLASSES);
  const ways = element("div", { class: "ways" }, overlayButton(address, stage, legend, copy), copy);
  return element("figure", { class: "picture" }, stage, element("figcaption", {}, ways, legend));
}

export function frameOutline(photo, polygon) {
  const points = polygon.map(([x, y]) => `${x},${y}`).join(" ");
  const { width, height } = photo.fields;
  return svgElement(
    "svg",
    { class: "outline", viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" },
    svgElement("polygon", { class: "under", points }),
    svgElement("polygon", { class: "over", points }),
  );
}

/** The class map drawn over the photo, as this measurement counted it: it never changes, so that it is kept for later. */
export const classesAddress = (photo, { fields }) =>
  `/api/photos/${photo.id}/classes?size=screen&of=${fields.inputs_hash}`;

function overlayButton(address, stage, legend, copy) {
  let overlay = null;
  const flip = (event) => {
    const on = event.currentTarget.getAttribute("aria-pressed") !== "true";
    event.currentTarget.setAttribute("aria-pressed", String(on));
    event.currentTarget.textContent = on ? "Hide what was counted" : "Show what was counted";
    legend.hidden = !on;
    copy.hidden = !on;
    if (on && !overlay) {
      const onerror = () =>
        (legend.textContent = "The overlay cannot be shown now; the numbers are not affected.");
      overlay = element("img", {
        class: "overlay",
        src: address,
        alt: "",
        onerror,
      });
      stage.append(overlay);
    }
    overlay.hidden = !on;
    stage.querySelector(".outline")?.toggleAttribute("hidden", on);
  };
  return button("Show what was counted", flip, { "aria-pressed": "false" });
}

function classLegend() {
  const items = CLASSES.map(([name, words]) =>
    element("li", {}, element("span", { class: `class-patch ${name}` }), words),
  );
  return element("ul", { class: "legend", hidden: true }, items);
}
