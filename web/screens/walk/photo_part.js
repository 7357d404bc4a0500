/** The picture part of a visit: live camera or the phone's own, the card line, the shutter, the photos taken. */

import { button, element, redraw } from "../dom.js";
import { localMoment, plantingOfCard } from "../../store/walk.js";
import { CardLine } from "./card_line.js";
import { decoded, pixelsOf, thumbOf } from "./decoded.js";
import { cameraInHand } from "./camera_in_hand.js";
import { Taken } from "./taken.js";
import { Viewfinder } from "./viewfinder.js";
import { whyNotKept } from "./told.js";
import { placeInWords } from "./words.js";

/** Sharpness and light are judged, and the card is read, at this size. */
const CHECK_PX = 1600;

/**
 * @param {{journal: Object, visit: Object, told: Object}} parts
 * @param {{photo: Object | null, polygon: number[][] | null}} last @param {(plantingId: string) => void} go
 */
export function photoPart(parts, last, go) {
  const { visit, told } = parts;
  const finder = new Viewfinder(parts.journal, last);
  const scanner = new Scanner(visit, () => card.code);
  const card = new CardLine(visit, {
    go,
    heard: (code) => scanner.heard(code),
    useCard: (code) => giveCard(visit, told, code, card),
  });
  const hand = cameraInHand(finder.video);
  const own = ownCamera((file) => taking(() => fromFile(file)));
  const openCamera = () => hand.isLive || own.input.click();
  const check = (photo) => lookOver(visit, hand.reader, last.photo, photo);
  const taken = new Taken(parts, { check, openCamera });
  const shutter = element("div", { class: "shutter" }, button("Starting the camera …", () => {}, { class: "primary", disabled: true }));
  const under = element("div", { class: "other-way" });
  let underWay = Promise.resolve();

  /** One after the other, so that no photo overtakes another and leaving can wait for the last. */
  const taking = (take) => {
    underWay = underWay.then(async () => {
      try {
        await taken.keep(await take());
      } catch (problem) {
        told.failed(whyNotKept(problem));
      }
    });
    return underWay;
  };
  const fromLive = async () => {
    const { video } = finder;
    const thumb = await thumbOf(video, video.videoWidth, video.videoHeight);
    const photo = await hand.camera.take();
    return { ...photo, fileName: nameAt(photo.takenAt), how: "viewfinder", thumb };
  };

  const goLive = () => {
    finder.goLive();
    const shoot = button("Take the photo", () => taking(fromLive), { class: "primary", id: "shutter" });
    redraw(shutter, shoot, own.button("Phone’s camera", "secondary pick"));
    redraw(under);
    card.watch(finder.video, hand.reader);
    scanner.isOn = true;
  };
  const standStill = (problem) => {
    finder.goStill();
    redraw(shutter, own.button("Take the photo", "primary pick"));
    const words = element("p", { class: "quiet", role: "status" }, problem.message);
    // At an address without https another try comes to the same.
    const again = problem.kind !== "insecure" && button("Try the live camera again", start, { id: "live-again" });
    redraw(under, words, again);
  };
  const start = () => hand.start().then(goLive, standStill);
  start();
  return {
    node: element("section", { class: "photo-part", "aria-label": "Photo" }, finder.node, card.node, under, taken.node),
    shutter,
    remarks: taken.remarks,
    scanner,
    settled: () => underWay,
    leave: () => {
      card.stop();
      hand.layDown();
    },
  };
}

/** The phone's own camera, by a file input: it needs no permission and keeps the camera's own record of the moment. */
function ownCamera(take) {
  const input = element("input", {
    type: "file",
    accept: "image/*",
    capture: "environment",
    class: "unseen",
    id: "own-camera",
    onchange: () => {
      for (const file of input.files) take(file);
      input.value = "";
    },
  });
  return { input, button: (words, look) => element("label", { class: look }, input, words) };
}

async function fromFile(file) {
  const bytes = await file.arrayBuffer();
  const mime = file.type || "image/jpeg";
  const takenAt = localMoment(new Date(file.lastModified || Date.now()));
  return { bytes, mime, fileName: file.name, takenAt, how: "phone camera" };
}

const nameAt = (moment) => `walk_${moment.slice(0, 19).replace("T", "_").replaceAll(":", "-")}.jpg`;

/** Whether the photo will do, in sentences; none where it will, or where this phone cannot decode it. */
async function lookOver(visit, reader, last, photo) {
  const { checkPhoto } = await import("../../photo_check/check_photo.js");
  const image = pixelsOf(await decoded(photo.bytes, photo.mime, CHECK_PX));
  const cardRead = await reader.read(image).catch(() => null);
  const { card_corners: corners, width, height } = last?.fields ?? {};
  const lastCard = corners && width ? { corners, width, height } : null;
  return [...wrongCard(visit, cardRead), ...checkPhoto(image, { cardRead, lastCard })];
}

function wrongCard(visit, cardRead) {
  const seen = cardRead && plantingOfCard(visit.store, cardRead.code, visit.day);
  if (!seen || seen.id === visit.plantingId) return [];
  const there = placeInWords(visit.store, seen);
  return [{ code: "another card", message: `The card in it is that of ${there}. The journal will ask which planting it shows.` }];
}

function giveCard(visit, told, code, card) {
  const change = { kind: "planting", id: visit.plantingId, fields: { card_code: code } };
  return told
    .keep(() => visit.note([change]), `The card ${code} now names ${placeInWords(visit.store, visit.planting)}.`)
    .then(() => card.draw());
}

/** Hands the next card that the camera sees, and that is not the planting's own, to whoever asked for it. */
class Scanner {
  isOn = false;
  #waiting = null;

  constructor(visit, seenNow) {
    Object.assign(this, { visit, seenNow });
  }

  /** @returns {Promise<string>} */
  scan() {
    if (!this.isOn) return Promise.reject(new Error("The camera is not on, so no card can be scanned. Type its code instead."));
    return new Promise((done) => {
      this.#waiting = done;
      this.heard(this.seenNow());
    });
  }

  heard(code) {
    if (!code || code === this.visit.planting?.fields.card_code) return;
    this.#waiting?.(code);
    this.#waiting = null;
  }
}
