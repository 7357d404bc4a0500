/** What became of each file. Rows are changed only when their file's state does, so that hundreds stay quick. */

import { element, link, redraw } from "./dom.js";

export const STATE_WORDS = {
  waiting: "waiting",
  sending: "sending",
  "taken in": "taken in",
  "already here": "already here",
  refused: "refused",
  failed: "not sent",
  cancelled: "cancelled",
};

const WANTS_AN_EYE = ["refused", "failed"];

export function fileList() {
  const node = element("ul", { class: "files" });
  const rows = new Map();
  const update = (entries) => {
    for (const entry of entries) {
      const row = rows.get(entry) ?? { node: element("li", {}), state: null };
      rows.set(entry, row);
      if (row.state !== entry.state) fill(row, entry);
      if (row.bar) row.bar.value = entry.share;
    }
    const wanted = inOrder(entries).map((entry) => rows.get(entry).node);
    if (wanted.length !== node.children.length || wanted.some((row, at) => row !== node.children[at])) {
      node.replaceChildren(...wanted);
    }
  };
  return { node, update };
}

/** Those that need a person's eye first; the rest as they were chosen. */
function inOrder(entries) {
  const rank = (entry) => (WANTS_AN_EYE.includes(entry.state) ? 0 : 1);
  return [...entries].sort((a, b) => rank(a) - rank(b));
}

function fill(row, entry) {
  row.state = entry.state;
  row.bar = entry.state === "sending" ? element("progress", { max: 1, "aria-label": entry.file.name }) : null;
  const name = entry.photo ? link(`#/photos/${entry.photo.id}`, {}, entry.file.name) : entry.file.name;
  const tone = WANTS_AN_EYE.includes(entry.state) ? "signal" : "quiet";
  redraw(
    row.node,
    element("span", { class: "file-name" }, name),
    element("span", { class: tone }, STATE_WORDS[entry.state]),
    row.bar,
    entry.says && element("span", { class: "says" }, entry.says),
  );
}
