/** Search over everything on this device; the question stands in the address, so that going back finds it again. */

import { element, freshId, live, redraw } from "./dom.js";
import { readings, search } from "../store/search.js";
import { SEARCHED, searchIndex } from "../store/search_index.js";
import { foundRow } from "./search_words.js";

const SHORTEST = 2;

export function searchScreen({ journal: { store } }, { for: asked = "" }) {
  const id = freshId("question");
  const input = element("input", { id, type: "search", value: asked, autocomplete: "off", enterkeyhint: "search" });
  const made = { stamp: null, index: [] };
  const results = live(store, SEARCHED, () => resultsOf(store, made, input.value), { class: "stack found" });
  const count = element("p", { role: "status", class: "quiet" });
  const tell = () => (count.textContent = countWords(results, input.value));
  input.addEventListener("input", () => {
    history.replaceState(null, "", input.value.trim() ? `#/search?for=${encodeURIComponent(input.value)}` : "#/search");
    redraw(results, resultsOf(store, made, input.value));
    tell();
  });
  tell();
  return {
    title: "Search",
    nodes: [
      element("h1", {}, "Search"),
      element("div", { class: "field" }, element("label", { for: id }, "Look for"), input, hint()),
      count,
      results,
    ],
  };
}

function hint() {
  return element(
    "p",
    { class: "help" },
    "Names, cards, remarks, findings, care, verdicts, photo files; also a day: “12 June”, “2026-06-12”, “petunia week 6”.",
  );
}

/** The index is made when it is first asked for, and again when a record changed. */
function resultsOf(store, made, question) {
  if (question.trim().length < SHORTEST) return null;
  const stamp = store.stamp(SEARCHED);
  if (made.stamp !== stamp) Object.assign(made, { stamp, index: searchIndex(store) });
  return search(made.index, question).map((group) => groupPart(store, group));
}

function groupPart(store, { name, found, more }) {
  return element(
    "section",
    { "data-group": name, "data-found": found.length + more },
    element("h2", {}, name, " ", element("span", { class: "quiet" }, String(found.length + more))),
    element("ul", { class: "rows" }, found.map((entry) => element("li", {}, foundRow(store, entry)))),
    more ? element("p", { class: "quiet" }, `${more} more. Another word narrows them.`) : null,
  );
}

function countWords(results, question) {
  if (question.trim().length < SHORTEST || !readings(question).length) return "";
  const found = [...results.querySelectorAll("[data-found]")].reduce((sum, { dataset }) => sum + Number(dataset.found), 0);
  if (found) return `${found} found`;
  return `Nothing here fits “${question.trim()}”. Fewer words, or the beginning of one, find more.`;
}
