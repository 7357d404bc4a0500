/** Two photos' own numbers from what this device holds, where the journal cannot say now what changed between them. */

import { button, element } from "../dom.js";
import { NUMBERS, isUsable, reasonFor, swatch } from "../numbers.js";
import { currentMeasurements } from "../../store/queries.js";
import { shortDayInWords } from "../../words.js";

const SAYS =
  "Whether a change is more than measuring error is worked out by the journal, which cannot be reached now. " +
  "These are the numbers of each photo, as this device keeps them.";
const NOT_ALIKE = "One photo was measured in the planting’s frame and one as a whole: their numbers are different ones.";

/** @param {Object} store @param {Object} units @param {{first: Object, second: Object}} chosen photos @param {() => void} again */
export function ownNumbers(store, units, { first, second }, again) {
  const measured = currentMeasurements(store);
  const both = [first, second].map((photo) => measured.get(photo.id) ?? null);
  const framed = both.map((one) => one && Boolean(one.fields.frame_polygon));
  return [
    element("p", { role: "status" }, SAYS),
    element("p", {}, button("Ask the journal again", again, { id: "ask-again" })),
    framed.every((one) => one !== null) && framed[0] !== framed[1] && element("p", { class: "finding" }, NOT_ALIKE),
    element(
      "table",
      { class: "differences own" },
      element("caption", { class: "unseen" }, "Each photo’s numbers, with 90 % intervals"),
      element(
        "thead",
        {},
        element("tr", {}, element("th", { scope: "col" }, "Number"), [first, second].map(dayHead)),
      ),
      element("tbody", {}, NUMBERS.filter(([name]) => isKnown(both, name)).map((number) => numberRow(number, both, units)), colourRow(both)),
    ),
    element("p", { class: "quiet" }, "Small figures are 90 % intervals."),
  ];
}

/** What neither photo has is left out, but for what every photo should have. */
const isKnown = (both, name) => name === "canopy_fill" || both.some((one) => one?.fields.numbers[name]);

const dayHead = (photo) => element("th", { scope: "col" }, shortDayInWords(photo.fields.taken_at));

function numberRow([name, label, say], both, units) {
  return element(
    "tr",
    {},
    element("th", { scope: "row" }, label),
    both.map((one) => element("td", {}, cell(one, name, say, units))),
  );
}

function cell(one, name, say, units) {
  if (!one) return quiet("not measured");
  if (!isUsable(one)) return quiet("left out: the photo cannot be used");
  const words = say(one.fields.numbers[name], units);
  if (!words) return quiet(reasonFor(one.fields.numbers, name));
  return [element("b", { class: "unbroken" }, words.value), element("span", { class: "interval" }, words.interval)];
}

function colourRow(both) {
  const colour = (one) => (one && isUsable(one) ? one.fields.numbers.bloom_colour : null);
  if (!both.some(colour)) return null;
  return element(
    "tr",
    {},
    element("th", { scope: "row" }, "Bloom colour"),
    both.map((one) => element("td", {}, colour(one) ? [swatch(colour(one).hex), ` ${colour(one).hex}`] : quiet("not had"))),
  );
}

const quiet = (words) => element("span", { class: "quiet" }, words);
