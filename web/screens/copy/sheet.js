/** A small sheet from below with ways to copy or save one thing. By keyboard: Tab, Enter, Escape. */

import { button, element, freshId, redraw } from "../dom.js";
import { problemNote } from "../problem.js";
import { copyAs, copyText, mayCopy } from "./clipboard.js";

/** @typedef {{text: string, markdown: string, html: string}} Copies */

const FORMATS = [
  ["text", "Copy as text", "As text"],
  ["markdown", "Copy as Markdown", "As Markdown"],
  ["html", "Copy as HTML", "As HTML"],
];

/**
 * @param {string} title what is copied or saved
 * @param {(says: (words: string) => void) => any | Promise<any>} fill answers the sheet's nodes; `says` tells what was done
 */
export function openSheet(title, fill) {
  const id = freshId("sheet");
  const told = element("p", { role: "status", class: "sheet-told" });
  const says = (words) => (told.textContent = words);
  const place = element("div", { class: "stack" }, element("p", { class: "quiet" }, "Reading …"));
  const close = () => dialog.close();
  const gone = () => {
    dialog.remove();
    removeEventListener("hashchange", close);
  };
  const dialog = element(
    "dialog",
    { class: "sheet", "aria-labelledby": id, onclose: gone },
    element("h2", { id }, title),
    place,
    told,
    button("Close", close, { class: "close" }),
  );
  dialog.addEventListener("click", (event) => event.target === dialog && close());
  // Going back leaves the screen that it is about.
  addEventListener("hashchange", close);
  document.body.append(dialog);
  dialog.showModal();
  const ask = async () => {
    try {
      redraw(place, await fill(says));
      place.querySelector("button, textarea")?.focus();
    } catch (problem) {
      redraw(place, problemNote(problem, ask));
    }
  };
  return ask();
}

/**
 * A number's sentence, or a table, in three formats.
 *
 * @param {Copies} copies @param {(words: string) => void} says
 */
export function formatWays(copies, says) {
  if (!mayCopy()) return byHand(copies);
  const copy = (format, words) => async () => {
    try {
      await copyAs(format, copies);
      says(`Copied ${words[0].toLowerCase()}${words.slice(1)}.`);
    } catch {
      redraw(ways, byHand(copies));
      ways.querySelector("textarea").select();
    }
  };
  const ways = element(
    "div",
    { class: "ways" },
    FORMATS.map(([format, label, words]) => button(label, copy(format, words))),
  );
  return ways;
}

/** Words alone, such as the description of a picture. */
export function textWay(label, text, says) {
  if (!mayCopy()) return selectable(label, text);
  const place = element("div", {});
  const copy = async () => {
    try {
      await copyText(text);
      says("Copied.");
    } catch {
      redraw(place, selectable(label, text));
    }
  };
  redraw(place, button(label, copy));
  return place;
}

const NOT_HERE =
  "This browser lets the page copy only over https or on the journal’s own computer. Select the words and copy them yourself.";

function byHand(copies) {
  return element(
    "div",
    { class: "stack by-hand" },
    element("p", { class: "quiet" }, NOT_HERE),
    FORMATS.map(([format, , words]) => selectable(words, copies[format])),
  );
}

function selectable(label, text) {
  const id = freshId("copied");
  const field = element("textarea", { id, readonly: true, rows: 3, value: text });
  field.addEventListener("focus", () => field.select());
  return element("div", { class: "field" }, element("label", { for: id }, label), field);
}
