/** A figure drawn by the server as SVG, put into the page so that it can be tapped, with its table behind it. */

import { button, element, redraw } from "./dom.js";
import { copyTable } from "./copy/copyable.js";
import { figureButton } from "./copy/figure_ways.js";
import { problemNote } from "./problem.js";
import { walkByKeys } from "./figure_keys.js";
import { figureWidth } from "../store/season_addresses.js";
import { asOfInWords } from "../words.js";

/**
 * @typedef {{svg: string, keptSince?: string | null}} Drawn `keptSince` where it is what this device kept of earlier
 * @typedef {{title: string, id: string, draw: (width: number) => Promise<Drawn>, table: () => Promise<{headers: string[], rows: string[][], copies?: import("./copy/sheet.js").Copies}>}} Figure
 */

/**
 * A figure at an address of its own, and its table at another.
 *
 * @param {import("../sync/server.js").Server} server
 * @param {{path: string, table: string, query?: string, title: string, id: string}} what
 */
export function figure(server, { path, table, query, title, id }) {
  return figureOf({
    title,
    id,
    draw: async (width) => {
      const { answer: svg, keptSince } = await server.getDatedText(`${path}?${query ? `${query}&` : ""}width=${width}`);
      return { svg, keptSince };
    },
    table: () => server.getJson(query ? `${table}?${query}` : table),
  });
}

/** @param {Figure} what */
export function figureOf(what) {
  const drawing = element("div", { class: "drawing" }, element("p", { class: "quiet" }, "Drawing …"));
  const table = element("div", { class: "behind", tabindex: 0, role: "region", "aria-label": `${what.title}, as a table` });
  const details = element(
    "details",
    { id: `table-${what.id}`, ontoggle: () => details.open && fillTable(what, table) },
    element("summary", {}, "The numbers as a table"),
    table,
  );
  const node = element(
    "figure",
    { class: "figure" },
    element("figcaption", {}, what.title),
    drawing,
    details,
  );
  requestAnimationFrame(() => draw(what, drawing));
  return node;
}

async function draw(what, place) {
  try {
    const { svg: text, keptSince } = await what.draw(figureWidth(place.clientWidth));
    const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    const svg = document.importNode(parsed, true);
    makeTappable(svg);
    const intervals = intervalsButton(what.id, svg);
    const copy = figureButton(what, text, () => (intervals ? intervalsSeen.get(what.id) : null));
    redraw(place, asOf(keptSince), svg, element("div", { class: "figure-ways" }, intervals, copy));
  } catch (problem) {
    redraw(
      place,
      problemNote(problem, () => draw(what, place)),
    );
  }
}

/** Says that this is what the device kept; nothing where it is the newest. */
export function asOf(keptSince) {
  return keptSince ? element("p", { class: "quiet as-of" }, asOfInWords(keptSince)) : null;
}

/** Whether a person wants to see the intervals of each figure, while the app is open. */
const intervalsSeen = new Map();

/** Only for a figure that carries intervals; it begins as the figure was drawn. */
function intervalsButton(id, svg) {
  const first = svg.querySelector(".fig-interval");
  if (!first) return null;
  const toggle = button("", () => show(!intervalsSeen.get(id)), { class: "secondary intervals", id: `intervals-${id}` });
  const show = (seen) => {
    intervalsSeen.set(id, seen);
    svg.classList.toggle("with-intervals", seen);
    svg.classList.toggle("without-intervals", !seen);
    toggle.textContent = seen ? "Hide intervals" : "Show intervals";
  };
  show(intervalsSeen.get(id) ?? first.getAttribute("opacity") !== "0");
  return toggle;
}

/** Whatever carries `data-photo` or `data-planting` opens that photo or planting, by keyboard too. */
function makeTappable(svg) {
  walkByKeys(svg);
  svg.addEventListener("click", (event) => open(event.target));
  svg.addEventListener("keydown", (event) => event.key === "Enter" && open(event.target));
}

function open(target) {
  const part = target.closest("[data-photo], [data-planting]");
  if (!part) return;
  location.hash = part.dataset.photo
    ? `#/photos/${part.dataset.photo}`
    : `#/plantings/${part.dataset.planting}`;
}

async function fillTable(what, place) {
  try {
    const { headers, rows, copies } = await what.table();
    redraw(place, copyTable(what.title, copies, { id: `copy-table-${what.id}` }), dataTable(headers, rows, what.title));
  } catch (problem) {
    redraw(
      place,
      problemNote(problem, () => fillTable(what, place)),
    );
  }
}

function dataTable(headers, rows, title) {
  const body = rows.map(([first, ...rest]) =>
    element(
      "tr",
      {},
      element("th", { scope: "row" }, cell(first)),
      rest.map((value) => element("td", { class: INTERVAL.test(cell(value)) ? "interval-whole" : null }, cell(value))),
    ),
  );
  return element(
    "table",
    {},
    element("caption", { class: "unseen" }, title),
    element(
      "thead",
      {},
      element(
        "tr",
        {},
        headers.map((name) => element("th", { scope: "col" }, name)),
      ),
    ),
    element("tbody", {}, body),
  );
}

/** "61 % (58–64)" stays on one line. */
const INTERVAL = /^\S+( \S+)? \([^ ]+\)$/;
const cell = (value) => (value === null || value === undefined ? "–" : String(value));
