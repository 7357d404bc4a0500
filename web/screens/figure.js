/** A figure drawn by the server as SVG, put into the page so that it can be tapped, with its table behind it. */

import { element, redraw } from "./dom.js";
import { problemNote } from "./problem.js";

/**
 * @param {import("../sync/server.js").Server} server
 * @param {{path: string, table: string, query?: string, title: string, id: string}} what
 */
export function figure(server, what) {
  const drawing = element("div", { class: "drawing" }, element("p", { class: "quiet" }, "Drawing …"));
  const table = element("div", { class: "behind", tabindex: 0, role: "region", "aria-label": `${what.title}, as a table` });
  const details = element(
    "details",
    { id: `table-${what.id}`, ontoggle: () => details.open && fillTable(server, what, table) },
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
  requestAnimationFrame(() => draw(server, what, drawing));
  return node;
}

async function draw(server, what, place) {
  const width = Math.min(Math.max(Math.round(place.clientWidth || 358), 300), 1200);
  try {
    const text = await server.getText(`${what.path}?${what.query ? `${what.query}&` : ""}width=${width}`);
    const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    const svg = document.importNode(parsed, true);
    makeTappable(svg);
    redraw(place, svg);
  } catch (problem) {
    redraw(
      place,
      problemNote(problem, () => draw(server, what, place)),
    );
  }
}

/** Whatever carries `data-photo` or `data-planting` opens that photo or planting, by keyboard too. */
function makeTappable(svg) {
  const links = svg.querySelectorAll("[data-photo], .fig-name");
  for (const part of links) {
    part.setAttribute("tabindex", "0");
    part.setAttribute("role", "link");
  }
  if (links.length) svg.setAttribute("role", "group");
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

async function fillTable(server, what, place) {
  try {
    const { headers, rows } = await server.getJson(`${what.table}${what.query ? `?${what.query}` : ""}`);
    redraw(place, dataTable(headers, rows, what.title));
  } catch (problem) {
    redraw(
      place,
      problemNote(problem, () => fillTable(server, what, place)),
    );
  }
}

function dataTable(headers, rows, title) {
  const body = rows.map(([first, ...rest]) =>
    element(
      "tr",
      {},
      element("th", { scope: "row" }, cell(first)),
      rest.map((value) => element("td", {}, cell(value))),
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

const cell = (value) => (value === null || value === undefined ? "–" : String(value));
