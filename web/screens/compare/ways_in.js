/** Ways from other screens into comparing. */

import { element } from "../dom.js";
import { copyable } from "../copy/copyable.js";
import { capital, unbroken } from "../../words.js";

/** The two dates of a photo's planting, this photo being the later one. */
export const compareAddress = (photo) => `#/compare/dates/${photo.fields.planting_id}?second=${photo.id}`;

const BESIDE = "Beside others of its genus";

/**
 * How a planting grows beside others of its genus, in sentences that a tap copies.
 *
 * @param {{sentences: string[], quotes?: import("../copy/sheet.js").Copies[], reason: string | null}} growth
 */
export const growthWords = ({ sentences, quotes, reason }) => [
  element("h3", {}, BESIDE),
  (sentences.length ? sentences : [`${capital(reason)}.`]).map((words, at) =>
    element("p", {}, copyable(unbroken(words), BESIDE, quotes?.[at])),
  ),
];
