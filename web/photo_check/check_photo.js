/** Whether a photo will do, looked at on the phone as soon as it is taken; pure. Agrees with `quality.py` of the server. */

import { closerThan } from "./distance.js";
import { centreOf } from "./light.js";
import { sharpnessOf } from "./sharpness.js";

const MESSAGES = {
  blurred: "The photo is blurred. Hold the phone with both hands and wait for the wind to drop.",
  too_dark: "The photo is very dark. Turn so that the light falls on the planting, or come back in better light.",
  overexposed: "Much of the picture is burnt out to white. Keep the sun behind you, or shade the planting.",
  card_not_read: "The card cannot be read, and last time it could. Free it of leaves and turn it to face the camera.",
  nearer: "This is much nearer than last time. Step back until it looks as it does in the last photo.",
  farther: "This is much farther away than last time. Step closer until it looks as it does in the last photo.",
};

const BLURRED_BELOW = 0.78;
/** The server looks at the plant alone, which is darker than the middle of the picture: 0.025 there is this much here. */
const DARK_BELOW = 0.034;
const BURNT_OUT_ABOVE = 0.08;
/** From one date of the sample season to the next, the card's size changed by 1.15 times at most. */
const MUCH = 1.4;

/**
 * @typedef {{corners: [number, number][], width: number, height: number}} CardInPicture corners in pixels of a picture of that size
 * @param {ImageData} image upright; about a megapixel is enough
 * @param {{cardRead?: {corners: [number, number][]} | null, lastCard?: CardInPicture | null}} known the card as read in this
 * picture, and in the last photo of this planting
 * @returns {{code: string, message: string}[]} empty when the photo will do
 */
export function checkPhoto(image, { cardRead = null, lastCard = null } = {}) {
  const codes = [...lookCodes(image), ...cardCodes(image, cardRead, lastCard)];
  return codes.map((code) => ({ code, message: MESSAGES[code] }));
}

/** What the checks rest on: sharpness as on the server, median light 0 to 1, share of burnt-out pixels. */
export function lookAt(image) {
  const centre = centreOf(image);
  return { sharpness: sharpnessOf(centre), brightness: median(centre.light), burntOut: centre.burntOut };
}

function lookCodes(image) {
  const { sharpness, brightness, burntOut } = lookAt(image);
  return [
    sharpness < BLURRED_BELOW && "blurred",
    brightness < DARK_BELOW && "too_dark",
    burntOut > BURNT_OUT_ABOVE && "overexposed",
  ].filter(Boolean);
}

function cardCodes({ width, height }, cardRead, lastCard) {
  if (!lastCard) return [];
  if (!cardRead) return ["card_not_read"];
  const closer = closerThan({ corners: cardRead.corners, width, height }, lastCard);
  if (closer > MUCH) return ["nearer"];
  return closer < 1 / MUCH ? ["farther"] : [];
}

const median = (values) => Float32Array.from(values).sort()[values.length >> 1];
