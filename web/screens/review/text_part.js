/** The text of a verdict: read with its numbers as links, or written in. */

import { button, element, redraw } from "../dom.js";
import { quotedParts } from "../../store/quoted_text.js";
import { linkedText } from "./linked_text.js";
import { writtenField } from "./written.js";

/**
 * @param {import("./verdict_record.js").VerdictRecord} verdict
 * @param {{say: (words: string) => void, wordsOf: (quoted: Object) => string}} how
 * @returns {{node: Node, leave: () => void, refresh: () => void}}
 */
export function textPart(verdict, { say, wordsOf }) {
  const place = element("div", { class: "verdict-text" });
  let field = null;
  const write = () => {
    field = writtenField({
      name: "text",
      label: "The text",
      longest: 20000,
      rows: 8,
      kept: () => verdict.fields.text ?? null,
      save: (text) => verdict.note({ text }),
      say,
    });
    redraw(place, field.node, element("div", { class: "ways" }, button("Done", done, { id: "text-done" })));
    field.input.focus();
  };
  const done = () => {
    field?.leave();
    field = null;
    read();
    place.querySelector("button")?.focus();
  };
  const read = () => {
    const parts = quotedParts(Object.values(verdict.texts), verdict.quoted)[0];
    const words = verdict.fields.text ? linkedText(parts, verdict.quoted, wordsOf) : nothingYet();
    const change = verdict.fields.text ? "Change the text" : "Write it yourself";
    redraw(
      place,
      element("div", { class: "reading" }, words),
      element("div", { class: "ways" }, button(change, write, { id: "write-text" })),
    );
  };
  read();
  return {
    node: element("section", { id: "verdict-text" }, element("h2", {}, "Text"), place),
    leave: () => field?.leave(),
    refresh: () => (field ? field.refresh() : read()),
  };
}

const nothingYet = () =>
  element("p", { class: "quiet" }, "Nothing is written yet. The sentences below can be put in, one tap each, and then changed.");
