/** A figure by keyboard: one tab stop for each row; the arrow keys go along its dates, and up and down to the next row. */

const PARTS = ".fig-name, [data-photo]";

/** @param {SVGSVGElement} svg whatever in it opens a photo or a planting becomes a link with a name */
export function walkByKeys(svg) {
  const rows = [...svg.querySelectorAll(".fig-row")];
  const lines = (rows.length ? rows : [svg]).map((row) => [...row.querySelectorAll(PARTS)]).filter((line) => line.length);
  if (!lines.length) return;
  svg.setAttribute("role", "group");
  for (const row of rows) nameRow(row);
  const placeOf = new Map();
  lines.forEach((line, row) => line.forEach((part, at) => placeOf.set(makeLink(part, at === 0), { row, at })));
  svg.addEventListener("keydown", (event) => {
    const place = placeOf.get(event.target.closest(PARTS));
    const move = place && MOVES[event.key];
    if (!move || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    goTo(lines, ...move(place, lines));
  });
}

function goTo(lines, row, at) {
  const line = lines[Math.min(Math.max(row, 0), lines.length - 1)];
  const part = line[Math.min(Math.max(at, 0), line.length - 1)];
  for (const one of line) one.setAttribute("tabindex", one === part ? "0" : "-1");
  part.focus();
}

const MOVES = {
  ArrowRight: ({ row, at }) => [row, at + 1],
  ArrowLeft: ({ row, at }) => [row, at - 1],
  ArrowDown: ({ row, at }) => [row + 1, at],
  ArrowUp: ({ row, at }) => [row - 1, at],
  Home: ({ row }) => [row, 0],
  End: ({ row }, lines) => [row, lines[row].length - 1],
};

const titleOf = (part) => part.querySelector(":scope > title")?.textContent ?? "";

function nameRow(row) {
  const name = row.querySelector(".fig-name");
  row.setAttribute("role", "group");
  if (name) row.setAttribute("aria-label", titleOf(name));
}

function makeLink(part, isStop) {
  part.setAttribute("role", "link");
  part.setAttribute("tabindex", isStop ? "0" : "-1");
  part.setAttribute("aria-label", titleOf(part));
  return part;
}
