/** Where two people changed the same thing: both values side by side, and a choice. */

import { button, element } from "./dom.js";
import { describePlanting } from "../store/queries.js";
import { sayConflict } from "../sync/in_words.js";

export function conflictsPart({ journal }) {
  const { conflicts } = journal.queue.state;
  if (!conflicts.length) return null;
  return element(
    "section",
    {},
    element("h2", {}, "Changed by two people"),
    element(
      "p",
      { class: "quiet" },
      "Say which value stands. Until then the journal keeps the other person’s, and yours waits here.",
    ),
    element(
      "ul",
      { class: "rows" },
      conflicts.map((conflict) => row(journal, conflict)),
    ),
  );
}

function row({ store, queue }, conflict) {
  const what = sayConflict(store, conflict);
  const choice = (which, whose, words) =>
    element(
      "div",
      { class: "side" },
      element("p", { class: "quiet" }, whose),
      element("p", { class: "said" }, valueInWords(store, conflict[which])),
      button(words, () => queue.choose(conflict.key, which), { "aria-label": `${words}: ${what}` }),
    );
  return element(
    "li",
    { class: "conflict" },
    element("p", {}, element("b", {}, what)),
    element(
      "div",
      { class: "sides" },
      choice("yours", "You, on this device", "Keep yours"),
      choice("theirs", "The other person", "Take theirs"),
    ),
  );
}

/** An id is said by the name of what it stands for. */
function valueInWords(store, value) {
  if (value === null || value === undefined || value === "") return "nothing";
  if (value === true || value === false) return value ? "yes" : "no";
  if (Array.isArray(value))
    return value.length ? value.map((one) => valueInWords(store, one)).join(", ") : "nothing";
  if (typeof value === "object") return objectInWords(store, value);
  return describePlanting(store, value)?.name ?? nameOf(store, value) ?? String(value);
}

/** A number that a text stands on as it is shown; what is chosen for several uses, each with its use. */
function objectInWords(store, value) {
  if (value.shown) return value.shown;
  return Object.entries(value).map(([use, one]) => `${use}: ${valueInWords(store, one)}`).join(", ");
}

function nameOf(store, id) {
  for (const kind of ["cultivar", "planter", "trial", "photo"]) {
    const fields = store.get(kind, id)?.fields;
    if (fields) return fields.name ?? fields.title ?? fields.file_name;
  }
  return null;
}
