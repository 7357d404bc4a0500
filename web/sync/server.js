/** Talks to the journal's server. No DOM; `fetch` is passed in, so that tests and a worker can give their own. */

export class ServerRefused extends Error {
  /** @param {{message: string, field: string | null, kind: string}} error @param {number} status @param {any} answer */
  constructor(error, status, answer) {
    super(error.message);
    this.field = error.field ?? null;
    this.status = status;
    this.answer = answer;
  }
}

export class ServerUnreachable extends Error {
  constructor() {
    super("The journal cannot be reached. Nothing you typed is lost: check the connection and try again.");
  }
}

export class Server {
  #fetch;

  constructor(fetch) {
    this.#fetch = fetch;
  }

  async #ask(path, options = {}) {
    let response;
    try {
      response = await this.#fetch(path, options);
    } catch (problem) {
      if (problem.name === "AbortError") throw problem;
      throw new ServerUnreachable();
    }
    if (response.ok) return response;
    throw await refusal(response);
  }

  async getJson(path) {
    return (await this.#ask(path)).json();
  }

  async getText(path) {
    return (await this.#ask(path)).text();
  }

  async postJson(path, body) {
    const response = await this.#ask(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    return response.json();
  }
}

async function refusal(response) {
  const answer = await response.json().catch(() => null);
  const error = answer?.error ?? {
    message: `The journal answered with an error (${response.status}). Nothing was changed: try again.`,
  };
  return new ServerRefused(error, response.status, answer);
}
