/** Many photos, two at a time; each ends as taken in, already here, refused (with the reason), failed or cancelled. */

import { ServerRefused, ServerUnreachable } from "./server.js";

const AT_ONCE = 2;
const LARGEST_BYTES = 60 * 1000 * 1000;

/** @typedef {{file: File, state: string, share: number, says: string}} Entry */

export class UploadQueue {
  /** @type {Entry[]} */
  entries = [];
  #running = 0;
  #abort = new AbortController();
  #upload;
  #watchers = new Set();

  /** @param {(file: File, how: {onProgress: Function, signal: AbortSignal}) => Promise<{outcome: string, says: string}>} upload */
  constructor(upload) {
    this.#upload = upload;
  }

  watch(tell) {
    this.#watchers.add(tell);
    return () => this.#watchers.delete(tell);
  }

  add(files) {
    if (!this.busy) this.entries = this.entries.filter((entry) => entry.state === "failed");
    for (const file of files) {
      const reason = whyNotSent(file);
      this.entries.push({ file, state: reason ? "refused" : "waiting", share: 0, says: reason ?? "" });
    }
    this.#go();
  }

  cancel() {
    for (const entry of this.entries) if (entry.state === "waiting") entry.state = "cancelled";
    this.#abort.abort();
    this.#abort = new AbortController();
    this.#tell();
  }

  retryFailed() {
    for (const entry of this.entries) {
      if (entry.state === "failed" || entry.state === "cancelled")
        Object.assign(entry, { state: "waiting", share: 0, says: "" });
    }
    this.#go();
  }

  get busy() {
    return this.entries.some((entry) => entry.state === "waiting" || entry.state === "sending");
  }

  /** How much is behind us, in [0, 1], by bytes. */
  get share() {
    const bytes = (entry) => entry.file.size + 1;
    const all = this.entries.reduce((sum, entry) => sum + bytes(entry), 0);
    const done = this.entries.reduce(
      (sum, entry) => sum + bytes(entry) * (isOver(entry) ? 1 : entry.share),
      0,
    );
    return all ? done / all : 0;
  }

  count(state) {
    return this.entries.filter((entry) => entry.state === state).length;
  }

  #go() {
    while (this.#running < AT_ONCE) {
      const entry = this.entries.find((one) => one.state === "waiting");
      if (!entry) break;
      this.#send(entry);
    }
    this.#tell();
  }

  async #send(entry) {
    entry.state = "sending";
    this.#running += 1;
    const onProgress = (share) => {
      entry.share = share;
      this.#tell();
    };
    try {
      const answer = await this.#upload(entry.file, { onProgress, signal: this.#abort.signal });
      Object.assign(entry, { state: answer.outcome, says: answer.says, share: 1, photo: answer.photo });
    } catch (problem) {
      Object.assign(entry, { state: stateAfter(problem), says: inWords(problem), share: 0 });
    }
    this.#running -= 1;
    this.#go();
  }

  #tell() {
    for (const tell of this.#watchers) tell();
  }
}

const isOver = (entry) => entry.state !== "waiting" && entry.state !== "sending";

function stateAfter(problem) {
  if (problem.name === "AbortError") return "cancelled";
  const final = problem instanceof ServerRefused && problem.status < 500 && problem.status !== 429;
  return final ? "refused" : "failed";
}

const inWords = (problem) =>
  problem instanceof ServerUnreachable
    ? "The journal could not be reached. The photo is still where it was: send it again once the journal answers."
    : problem.message;

/** Only what is surely no photo, or surely too large, is kept from the wire; the server judges the rest. */
function whyNotSent(file) {
  if (file.type.startsWith("video/")) return "This is a video; only photos are taken in.";
  if (file.size > LARGEST_BYTES) return "This file is larger than 60 MB; make it smaller or leave it out.";
  return null;
}
