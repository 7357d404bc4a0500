/** The one file that touches navigator.serviceWorker: lets the app open without the server, and says when a newer version is there. */

const LOOK_AGAIN_MS = 60 * 60 * 1000;

export class OfflineShell {
  #container;
  #waiting = null;
  #watchers = new Set();
  #wanted = false;
  #overtaken = false;

  /** @param {ServiceWorkerContainer | undefined} container missing on plain http and in some private windows */
  constructor(container = globalThis.navigator.serviceWorker) {
    this.#container = container;
  }

  /** Whether the app can open without the server at this address, by this browser. */
  get isPossible() {
    return Boolean(this.#container);
  }

  /** Whether it can from now on. */
  get isReady() {
    return Boolean(this.#container?.controller);
  }

  /** Whether a newer version of the app is on this device and waits to be used, here or, by now, in another tab. */
  get hasNewVersion() {
    return Boolean(this.#waiting) || this.#overtaken;
  }

  watch(tell) {
    this.#watchers.add(tell);
    return () => this.#watchers.delete(tell);
  }

  async start() {
    if (!this.isPossible) return;
    let controlled = this.isReady;
    this.#container.addEventListener("controllerchange", () => {
      if (this.#wanted) location.reload();
      this.#overtaken ||= controlled;
      controlled = true;
      this.#tell();
    });
    try {
      const registration = await this.#container.register("/service_worker.js", {
        type: "module",
        updateViaCache: "none",
      });
      this.#follow(registration);
      setInterval(() => registration.update().catch(() => {}), LOOK_AGAIN_MS);
    } catch {
      // The app works as long as the server answers; the screen Waiting says so.
      this.#container = undefined;
      this.#tell();
    }
  }

  /** The page is loaded anew with the new version. What is kept on the device stays. */
  useNewVersion() {
    this.#wanted = true;
    if (this.#overtaken) location.reload();
    else this.#waiting?.postMessage("use this version");
  }

  #follow(registration) {
    const look = () => {
      // Without a controller this is the first version, which has nothing to take the place of.
      this.#waiting = this.#container.controller ? registration.waiting : null;
      this.#tell();
    };
    look();
    registration.addEventListener("updatefound", () => {
      registration.installing?.addEventListener("statechange", look);
    });
  }

  #tell() {
    for (const tell of this.#watchers) tell();
  }
}
