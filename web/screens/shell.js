/** What stands around every screen: the names of the screens, the notice line, where the person is. */

import { button, element, link, redraw } from "./dom.js";
import { findRoute } from "../router.js";
import { noticeLine } from "./notice.js";
import { acceptDrops } from "./drop.js";
import { problemNote } from "./problem.js";
import { newVersionNote } from "./new_version.js";
import { waitingLine } from "./waiting_line.js";
import { notHere } from "./not_here.js";

const NAMES = [
  ["#/", "Today", ["", "photos", "care"]],
  ["#/walk", "Walk", ["walk"]],
  ["#/plantings", "Plantings", ["plantings", "search"]],
  ["#/season", "Season", ["season"]],
  ["#/compare", "Compare", ["compare"]],
  ["#/review", "Review", ["review"]],
  ["#/set-up", "Set-up", ["set-up"]],
];

export function startShell(app, routes, parts) {
  const main = element("main", { id: "main", tabindex: "-1" });
  const names = NAMES.map(([href, name, roots]) => ({ node: link(href, {}, name), roots }));
  const nav = element(
    "nav",
    { class: "screens", "aria-label": "Screens" },
    names.map(({ node }) => node),
  );
  const notices = noticeLine();
  const about = element("header", {}, waitingLine(parts.journal.queue), newVersionNote(parts.offline));
  redraw(app, nav, element("div", { class: "page" }, about, main), notices.node);

  const context = { ...parts, notices };
  const seat = new Seat(main, names, routes, context);
  context.go = (address) => seat.go(address);
  acceptDrops(document, (files) => {
    parts.uploads.add(files);
    context.go("#/photos/in");
  });
  return begin(main, parts.journal, () => seat.start());
}

/**
 * From what this device holds; only where it holds nothing yet has the server to be waited for.
 *
 * @returns {Promise<{shown: Promise<void>}>} `shown` settles once the first screen stands
 */
async function begin(main, journal, start) {
  redraw(main, element("p", { class: "quiet" }, "Opening the journal …"));
  try {
    const known = await journal.open();
    if (!known && !isPairing()) await journal.pull();
  } catch (problem) {
    if (problem.status !== 401) {
      redraw(
        main,
        problemNote(problem, () => begin(main, journal, start)),
      );
      return { shown: Promise.resolve() };
    }
    location.hash = "#/pair";
  }
  return { shown: start() };
}

/** A phone that is not let in yet cannot ask for anything first. */
const isPairing = () => /^#\/?pair/.test(location.hash);

/** Puts screens into the page as the address changes, and remembers how far each was scrolled. */
class Seat {
  #scrolled = new Map();
  #byLink = false;
  #leave = null;
  #shown = null;
  #wanted = null;

  constructor(main, names, routes, context) {
    Object.assign(this, { main, names, routes, context });
  }

  start() {
    history.scrollRestoration = "manual";
    addEventListener(
      "click",
      (event) => event.target.closest?.("a[href^='#/']") && (this.#byLink = true),
      true,
    );
    addEventListener("hashchange", () => this.show());
    addEventListener("scroll", () => this.#scrolled.set(this.#shown, scrollY), { passive: true });
    return this.show();
  }

  go(address) {
    this.#byLink = true;
    location.hash = address;
  }

  async show() {
    if (location.hash === "#main") return;
    const address = location.hash || "#/";
    const kept = this.#byLink ? 0 : (this.#scrolled.get(address) ?? 0);
    const first = this.#shown === null;
    this.#byLink = false;
    this.#leave?.();
    this.#leave = null;
    this.#wanted = address;
    const view = await this.#view(address);
    if (this.#wanted !== address) return view.leave?.();
    this.#shown = address;
    this.#leave = view.leave ?? null;
    this.#markName(address);
    document.title = `${view.title} · Planting trial journal`;
    redraw(this.main, view.nodes);
    this.main.className = view.wide ? "wide" : "";
    if (!first) this.#focusHeading();
    scrollTo(0, kept);
    this.context.notices.screenChanged();
  }

  async #view(address) {
    const route = findRoute(this.routes, address);
    if (!route) return notHere("There is nothing at this address", "#/", "Go to Today");
    try {
      await route.screen.load?.();
    } catch {
      return notLoaded();
    }
    return route.screen(this.context, route.params);
  }

  /** So that a screen reader says where the person has come to. */
  #focusHeading() {
    const heading = this.main.querySelector("h1") ?? this.main;
    heading.tabIndex = -1;
    heading.focus({ preventScroll: true });
  }

  #markName(address) {
    const root = address.replace(/^#\/?/, "").split(/[/?]/)[0];
    for (const { node, roots } of this.names) {
      if (roots.includes(root)) node.setAttribute("aria-current", "page");
      else node.removeAttribute("aria-current");
    }
  }
}

/** Only where no service worker keeps the app's files. */
function notLoaded() {
  return {
    title: "Not loaded",
    nodes: [
      element("h1", {}, "This screen could not be loaded"),
      element("p", {}, "The journal cannot be reached now. What you noted is safe on this device."),
      element(
        "p",
        {},
        button("Try again", () => location.reload()),
      ),
    ],
  };
}
