/** Records a spoken remark with what the browser has for it. */

import { localMoment } from "../store/walk.js";

/** Chromium and others write the first, WebKit the last. */
const KINDS = ["audio/webm;codecs=opus", "audio/ogg;codecs=opus", "audio/mp4"];
const SPEECH_BITS_PER_SECOND = 32_000;
const PIECE_MS = 1000;

const OTHER_WAY = "The remark can still be written.";
const WORDS = {
  insecure: `This page may not use the microphone, because it was not opened over https. ${OTHER_WAY}`,
  unable: `This browser cannot record sound. ${OTHER_WAY}`,
  denied: `The microphone is not allowed for this page; the browser’s settings for this page can allow it. ${OTHER_WAY}`,
  missing: `No microphone was found on this device. ${OTHER_WAY}`,
  busy: `The microphone did not start: perhaps another app holds it. Close that app and try again. ${OTHER_WAY}`,
  off: `Nothing is being recorded, so nothing was kept. ${OTHER_WAY}`,
  empty: `The recording is empty, so nothing was kept. Record it again. ${OTHER_WAY}`,
};
const PROBLEMS = { NotAllowedError: "denied", SecurityError: "denied", NotFoundError: "missing" };

/** `kind` is a key of the words above; the message says what happened and what to do instead. */
export class RecorderProblem extends Error {
  constructor(kind) {
    super(WORDS[kind]);
    this.kind = kind;
  }
}

/** One recording: `start()`, then `stop()` or `cancel()`. */
export class Recorder {
  #stream = null;
  #recorder = null;
  #pieces = [];
  #ended = null;
  #startedMs = 0;
  #endedMs = null;
  #recordedAt = null;
  #meter = null;

  /** Whether this page may try: browsers give no microphone to a page opened without https. */
  static isPossible() {
    return Boolean(navigator.mediaDevices?.getUserMedia) && kindToWrite() !== null;
  }

  /** Asks for the microphone and begins. @throws {RecorderProblem} */
  async start() {
    if (!navigator.mediaDevices?.getUserMedia) throw new RecorderProblem("insecure");
    const kind = kindToWrite();
    if (kind === null) throw new RecorderProblem("unable");
    this.#stream = await microphone();
    try {
      this.#recorder = new MediaRecorder(this.#stream, { mimeType: kind, audioBitsPerSecond: SPEECH_BITS_PER_SECOND });
      this.#recorder.ondataavailable = ({ data }) => data.size && this.#pieces.push(data);
      this.#ended = new Promise((done) => (this.#recorder.onstop = done));
      this.#ended.then(() => (this.#endedMs ??= performance.now()));
      this.#recorder.start(PIECE_MS);
    } catch {
      this.#release();
      throw new RecorderProblem("busy");
    }
    this.#recordedAt = localMoment(new Date());
    this.#startedMs = performance.now();
    this.#meter = new Meter(this.#stream);
  }

  /** Seconds recorded so far. */
  get seconds() {
    return this.#recordedAt ? ((this.#endedMs ?? performance.now()) - this.#startedMs) / 1000 : 0;
  }

  /** How loud it is now, 0 to 1; null where the browser cannot tell. */
  get level() {
    return this.#meter?.level ?? null;
  }

  /**
   * Ends the recording; one that the phone ended itself (a call came in) gives what there is.
   *
   * @returns {Promise<{bytes: ArrayBuffer, mime: string, seconds: number, recordedAt: string}>} @throws {RecorderProblem}
   */
  async stop() {
    if (!this.#recorder) throw new RecorderProblem("off");
    const recorder = this.#recorder;
    if (recorder.state !== "inactive") recorder.stop();
    await this.#ended;
    const { seconds } = this;
    this.#release();
    const sound = new Blob(this.#pieces);
    if (!sound.size) throw new RecorderProblem("empty");
    const mime = (recorder.mimeType || kindToWrite()).split(";")[0];
    return { bytes: await sound.arrayBuffer(), mime, seconds, recordedAt: this.#recordedAt };
  }

  /** Ends and forgets it. */
  cancel() {
    if (this.#recorder?.state !== "inactive") this.#recorder?.stop();
    this.#release();
  }

  #release() {
    for (const track of this.#stream?.getTracks() ?? []) track.stop();
    this.#meter?.close();
    this.#recorder = this.#stream = this.#meter = null;
  }
}

const kindToWrite = () =>
  globalThis.MediaRecorder ? (KINDS.find((kind) => MediaRecorder.isTypeSupported(kind)) ?? null) : null;

async function microphone() {
  try {
    return await navigator.mediaDevices.getUserMedia({ audio: { channelCount: { ideal: 1 } }, video: false });
  } catch (problem) {
    throw new RecorderProblem(PROBLEMS[problem.name] ?? "busy");
  }
}

/** Loudness of a stream, by Web Audio where it is there. */
class Meter {
  #context = null;
  #analyser = null;
  #samples = null;

  constructor(stream) {
    if (!globalThis.AudioContext) return;
    this.#context = new AudioContext();
    this.#analyser = this.#context.createAnalyser();
    this.#samples = new Float32Array(this.#analyser.fftSize);
    this.#context.createMediaStreamSource(stream).connect(this.#analyser);
  }

  get level() {
    if (!this.#analyser) return null;
    this.#analyser.getFloatTimeDomainData(this.#samples);
    const power = this.#samples.reduce((sum, sample) => sum + sample * sample, 0) / this.#samples.length;
    return Math.min(1, Math.sqrt(power) * Math.SQRT2);
  }

  close() {
    this.#context?.close();
  }
}
