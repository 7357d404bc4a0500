/**
 * The camera and the card reader, kept in hand from one planting to the next: starting a camera takes a second,
 * and the walk goes on. Laid down for good a little after the last visit is left.
 */

import { Camera } from "../../capture/camera.js";
import { CardReader } from "../../card_reading/card_reader.js";

const HELD_MS = 4000;

let held = null;
let layingDown;

/** @param {HTMLVideoElement} video the one to show the camera's picture in */
export function cameraInHand(video) {
  clearTimeout(layingDown);
  held ??= { camera: new Camera(), reader: new CardReader() };
  const { camera, reader } = held;
  let isDown = false;
  // A phone that was locked takes the camera away; it comes back with the page.
  const wake = () => document.hidden || camera.isLive || !hand.isLive || camera.start(video).catch(() => {});
  const hand = {
    camera,
    reader,
    isLive: false,
    async start() {
      await camera.start(video);
      if (isDown) return;
      hand.isLive = true;
      document.addEventListener("visibilitychange", wake);
    },
    layDown() {
      isDown = true;
      document.removeEventListener("visibilitychange", wake);
      layingDown = setTimeout(() => {
        camera.stop();
        reader.close?.();
        held = null;
      }, HELD_MS);
    },
  };
  return hand;
}
