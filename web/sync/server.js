/** Talks to the journal's server. No DOM; `fetch` is passed in, so that tests and a worker can give their own. */

import { KEPT_SINCE } from "../store/seen_cache.js";

const ANSWER_WITHIN_MS = 30_000;
/** As slow as a connection may be before it is given up: a photo of 4 MB has over three minutes. */
const SLOWEST_BYTES_A_SECOND = 20_000;

export class ServerRefused extends Error {
  /** @param {{message: string, field: string | null, kind: string}} error @param {number} status @param {any} answer */
  constructor(error, status, answer, retryAfterS = null) {
    super(error.message);
    this.field = error.field ?? null;
    this.kind = error.kind ?? null;
    this.status = status;
    this.answer = answer;
    this.retryAfterS = retryAfterS;
  }

  /** Whether the same request may well be taken later. */
  get isPassing() {
    return this.status >= 500 || this.status === 429 || this.status === 408;
  }
}

export class ServerUnreachable extends Error {
  constructor() {
    super("The journal cannot be reached. Nothing you typed is lost: check the connection and try again.");
  }
}

export class Server {
  #fetch;
  /** The phone's clock less the server's, in seconds; null while not known. */
  clockOffSeconds = null;

  constructor(fetch) {
    this.#fetch = fetch;
  }

  async #ask(path, options = {}, withinMs = ANSWER_WITHIN_MS) {
    const signal = AbortSignal.timeout(withinMs);
    const asked = Date.now();
    let response;
    try {
      response = await this.#fetch(path, { signal, ...options });
    } catch (problem) {
      if (problem.name === "AbortError") throw problem;
      throw new ServerUnreachable();
    }
    if (path.startsWith("/api/changes")) this.#compareClocks(response, asked);
    if (response.ok) return response;
    throw await refusal(response);
  }

  async getJson(path) {
    return json(await this.#ask(path));
  }

  /** @returns {Promise<{answer: any, keptSince: string | null}>} `keptSince`: when it was made, where it is what this device kept */
  async getDated(path, read = json) {
    const response = await this.#ask(path);
    return { answer: await read(response), keptSince: response.headers.get(KEPT_SINCE) };
  }

  /** The same for what is no JSON: `answer` is its text. */
  getDatedText(path) {
    return this.getDated(path, (response) => response.text());
  }

  async postJson(path, body) {
    const headers = { "Content-Type": "application/json" };
    return json(await this.#ask(path, { method: "POST", headers, body: JSON.stringify(body) }));
  }

  async deleteJson(path) {
    return json(await this.#ask(path, { method: "DELETE" }));
  }

  /** @param {string} path @param {FormData} form @param {number} size about how many bytes it holds */
  async postForm(path, form, size) {
    const withinMs = ANSWER_WITHIN_MS + (size / SLOWEST_BYTES_A_SECOND) * 1000;
    return json(await this.#ask(path, { method: "POST", body: form }, withinMs));
  }

  /** An answer says when it was made, to the second; half the way is taken for the way back. */
  #compareClocks(response, asked) {
    const said = Date.parse(response.headers.get("Date") ?? "");
    const now = Date.now();
    if (!Number.isNaN(said)) this.clockOffSeconds = Math.round(((asked + now) / 2 - said - 500) / 1000);
  }
}

/** What answers with a page where JSON was asked for is not the journal (a hotel's sign-in page, a proxy). */
async function json(response) {
  try {
    return await response.json();
  } catch {
    throw new ServerUnreachable();
  }
}

async function refusal(response) {
  const answer = await response.json().catch(() => null);
  const error = answer?.error ?? {
    message: `The journal answered with an error (${response.status}). Nothing was changed: try again.`,
  };
  const retryAfter = Number(response.headers.get("Retry-After") ?? NaN);
  return new ServerRefused(error, response.status, answer, Number.isFinite(retryAfter) ? retryAfter : null);
}
