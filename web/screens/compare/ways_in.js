/** Ways from other screens into comparing. */

import { element } from "../dom.js";

/** The two dates of a photo's planting, this photo being the later one. */
export const compareAddress = (photo) => `#/compare/dates/${photo.fields.planting_id}?second=${photo.id}`;

/** How a planting grows beside others of its genus, in sentences. @param {{sentences: string[], reason: string | null}} growth */
export const growthWords = ({ sentences, reason }) => [
  element("h3", {}, "Beside others of its genus"),
  (sentences.length ? sentences : [`${reason[0].toUpperCase()}${reason.slice(1)}.`]).map((words) => element("p", {}, words)),
];
