/** The way from Today to today's walk: how many are left, and the next one. */

import { element, link, redraw } from "../dom.js";
import { nextOnWalk } from "../../store/walk.js";
import { countInWords } from "../../words.js";
import { todaysTour } from "./tour.js";
import { placeInWords } from "./words.js";

/** A section that fills itself; nothing where there is nothing to walk. */
export function wayToWalk({ journal }) {
  const place = element("section", { class: "way-to-walk" });
  todaysTour(journal).then((tour) => tour && redraw(place, words(journal, tour)));
  return place;
}

function words({ store }, tour) {
  const { walk, entries, left } = tour.overview();
  const next = nextOnWalk(entries);
  const [big, what] = walk?.fields.ended || !next
    ? ["Walked", "Today’s walk is done: look at it"]
    : [countInWords(left, "planting"), wayOn(tour, walk)];
  return link(
    "#/walk",
    { class: "call", id: "to-walk" },
    element("span", { class: "big" }, big),
    element("span", {}, what),
    next && !walk?.fields.ended ? element("span", { class: "quiet" }, `Next: ${placeInWords(store, next.planting)}`) : null,
  );
}

function wayOn(tour, walk) {
  if (tour.paused) return "left: resume the walk";
  return walk ? "left: go on with the walk" : "on today’s walk";
}
