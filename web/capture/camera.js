/** The phone's camera: its live picture in a video element, single frames of it, and photos. */

import { localMoment } from "../store/walk.js";
import { withMoment } from "./exif.js";

/** Sharp enough for the finest flowers, and held live by phones of some years; a phone gives the nearest that it has. */
const WANTED = { facingMode: { ideal: "environment" }, width: { ideal: 2560 }, height: { ideal: 1920 } };
const JPEG_QUALITY = 0.92;
const PHOTO_WITHIN_MS = 4000;
const PICTURE_WITHIN_MS = 8000;

const OTHER_WAY = "Photos can still be taken with the phone’s own camera.";
const WORDS = {
  insecure: `This page may not use the camera, because it was not opened over https. ${OTHER_WAY}`,
  denied: `The camera is not allowed for this page; the browser’s settings for this page can allow it. ${OTHER_WAY}`,
  missing: `No camera was found on this device. ${OTHER_WAY}`,
  busy: `The camera did not start: perhaps another app holds it. Close that app and try again. ${OTHER_WAY}`,
  dark: `The camera is on but shows no picture yet, so nothing was taken. Wait a moment and try again. ${OTHER_WAY}`,
  off: `The camera is off, so nothing was taken. ${OTHER_WAY}`,
  empty: `The camera gave an empty picture, so nothing was kept. Take it again. ${OTHER_WAY}`,
};
const KINDS = {
  NotAllowedError: "denied",
  SecurityError: "denied",
  NotFoundError: "missing",
  OverconstrainedError: "missing",
};

/** `kind` is a key of the words above; the message says what happened and what to do instead. */
export class CameraProblem extends Error {
  constructor(kind) {
    super(WORDS[kind]);
    this.kind = kind;
  }
}

export class Camera {
  #stream = null;
  #video = null;
  #canvas = null;
  #photos = null;
  #starts = 0;

  get isLive() {
    return this.#track?.readyState === "live";
  }

  get #track() {
    return this.#stream?.getVideoTracks()[0] ?? null;
  }

  /**
   * Shows the camera behind the phone in `video`; one that is on already goes over to this video.
   *
   * @param {HTMLVideoElement} video @throws {CameraProblem}
   */
  async start(video) {
    const start = ++this.#starts;
    if (!this.isLive) {
      const stream = await opened();
      if (start !== this.#starts) return release(stream);
      this.#stream = stream;
      this.#photos = globalThis.ImageCapture ? new ImageCapture(this.#track) : null;
    }
    this.#video = video;
    video.muted = true;
    video.playsInline = true;
    video.srcObject = this.#stream;
    // A page that is left while the video starts interrupts play(); the picture then comes by itself later.
    await video.play().catch(() => {});
    if (!(await hasPicture(video, PICTURE_WITHIN_MS))) {
      if (start === this.#starts) this.stop();
      throw new CameraProblem("busy");
    }
  }

  stop() {
    this.#starts++;
    if (this.#stream) release(this.#stream);
    if (this.#video?.srcObject === this.#stream) this.#video.srcObject = null;
    this.#stream = this.#video = this.#photos = null;
  }

  /**
   * What the camera shows now, for looking at, not for keeping.
   *
   * @param {number} longest pixels of its longest side at most @returns {ImageData | null} null before the first picture
   */
  frame(longest) {
    if (!this.isLive || !this.#video?.videoWidth) return null;
    this.#canvas ??= document.createElement("canvas");
    const context = drawn(this.#video, this.#canvas, longest, { willReadFrequently: true });
    return context.getImageData(0, 0, this.#canvas.width, this.#canvas.height);
  }

  /**
   * A photo at full size: by the camera's own means where the browser has them, else the live picture as it stands.
   *
   * @param {string} [takenAt] ISO 8601 with offset, written into a photo that holds no Exif
   * @returns {Promise<{bytes: ArrayBuffer, mime: string, takenAt: string}>} @throws {CameraProblem}
   */
  async take(takenAt = momentNow()) {
    if (!this.isLive) throw new CameraProblem("off");
    const bytes = (await this.#ownPhoto()) ?? (await this.#livePicture());
    if (!bytes.byteLength) throw new CameraProblem("empty");
    return { bytes: withMoment(bytes, takenAt), mime: "image/jpeg", takenAt };
  }

  /** The camera's own photo as JPEG bytes; null where it cannot be had. */
  async #ownPhoto() {
    if (!this.#photos) return null;
    const photo = await within(PHOTO_WITHIN_MS, this.#photos.takePhoto().catch(() => null));
    if (photo?.size && photo.type === "image/jpeg") return photo.arrayBuffer();
    // A camera that failed once would let a person wait at every photo.
    this.#photos = null;
    return null;
  }

  async #livePicture() {
    const video = this.#video;
    if (!video?.videoWidth || video.readyState < video.HAVE_CURRENT_DATA) throw new CameraProblem("dark");
    const canvas = document.createElement("canvas");
    drawn(video, canvas, Infinity);
    const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", JPEG_QUALITY));
    if (!blob) throw new CameraProblem("empty");
    return blob.arrayBuffer();
  }
}

async function opened() {
  if (!navigator.mediaDevices?.getUserMedia) throw new CameraProblem("insecure");
  try {
    return await navigator.mediaDevices.getUserMedia({ audio: false, video: WANTED });
  } catch (problem) {
    throw new CameraProblem(KINDS[problem.name] ?? "busy");
  }
}

function release(stream) {
  for (const track of stream.getTracks()) track.stop();
}

async function hasPicture(video, withinMs) {
  const until = performance.now() + withinMs;
  while (!video.videoWidth || video.readyState < video.HAVE_CURRENT_DATA) {
    if (performance.now() > until) return false;
    await new Promise((done) => setTimeout(done, 40));
  }
  return true;
}

/** What `work` answers, or null when it takes longer. */
function within(milliseconds, work) {
  return Promise.race([work, new Promise((done) => setTimeout(() => done(null), milliseconds))]);
}

function drawn(video, canvas, longest, options) {
  const scale = Math.min(1, longest / Math.max(video.videoWidth, video.videoHeight));
  canvas.width = Math.round(video.videoWidth * scale);
  canvas.height = Math.round(video.videoHeight * scale);
  const context = canvas.getContext("2d", options);
  context.drawImage(video, 0, 0, canvas.width, canvas.height);
  return context;
}

/** This moment to the millisecond. */
function momentNow() {
  const now = new Date();
  const whole = localMoment(now);
  return `${whole.slice(0, 19)}.${String(now.getMilliseconds()).padStart(3, "0")}${whole.slice(19)}`;
}
