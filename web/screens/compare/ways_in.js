/** Ways from other screens into comparing. */

import { element, redraw } from "../dom.js";

/** The two dates of a photo's planting, this photo being the later one. */
export const compareAddress = (photo) => `#/compare/dates/${photo.fields.planting_id}?second=${photo.id}`;

/** How a planting grows beside others of its genus, in sentences; nothing where it cannot be said now. */
export function growthWords(server, plantingId) {
  const place = element("div", {});
  server.getJson(`/api/plantings/${plantingId}/growth`).then(
    ({ sentences, reason }) =>
      redraw(
        place,
        element("h3", {}, "Beside others of its genus"),
        (sentences.length ? sentences : [`${reason[0].toUpperCase()}${reason.slice(1)}.`]).map((words) =>
          element("p", {}, words),
        ),
      ),
    () => {},
  );
  return place;
}
