/** The numbers of one measurement, each with its interval, or with the reason why it could not be had. */

import { button, element } from "./dom.js";
import { copyable } from "./copy/copyable.js";
import { amountInWords, shareInWords } from "../words.js";

export const NUMBERS = [
  ["canopy_fill", "Canopy fill", shareInWords],
  ["bloom_cover", "Bloom cover", shareInWords],
  ["spent_share", "Spent bloom", shareInWords],
  ["flower_to_leaf", "Flower to leaf", (number) => amountInWords(number)],
  ["evenness", "Evenness", (number) => amountInWords(number)],
  ["spill_cm", "Spill over the rim", spillInWords],
];

function spillInWords(number, { length }) {
  if (!number) return null;
  const shown = Object.fromEntries(["value", "low", "high"].map((name) => [name, length.show(number[name])]));
  return amountInWords(shown, length.unit);
}

/** Numbers of a photo that is no use are left out of the season; screens leave them out with it. */
export const isUsable = (measurement) => measurement?.fields.numbers.quality?.usable !== false;

/**
 * The two numbers that lead, canopy fill and bloom cover, large; or that the photo is left out.
 *
 * @param {Object | null} measurement @param {ReturnType<import("./copy/photo_quotes.js").photoQuotes>} [quotes] what a tap copies
 */
export function leadingNumbers(measurement, quotes) {
  const numbers = measurement?.fields.numbers;
  if (!numbers) return null;
  if (!isUsable(measurement))
    return element(
      "p",
      { class: "lead left-out" },
      "This photo cannot be used: its numbers are left out of the season.",
    );
  return element(
    "dl",
    { class: "leading" },
    NUMBERS.slice(0, 2).map(([name, label, say]) => leading(numbers, name, label, say, quotes?.number(name))),
  );
}

function leading(numbers, name, label, say, quote) {
  const words = say(numbers[name]);
  return element(
    "div",
    {},
    element("dt", {}, label),
    element(
      "dd",
      {},
      copyable(words?.value ?? "not had", label, words && quote, { class: "big", id: `copy-leading-${name}` }),
      element("span", { class: "interval" }, words?.interval ?? reasonFor(numbers, name)),
    ),
  );
}

export const reasonFor = (numbers, name) => numbers.reasons?.[name] ?? "no reason was given";

/**
 * @param {Object} numbers the JSON of one measurement @param {import("../units.js").Units} units
 * @param {ReturnType<import("./copy/photo_quotes.js").photoQuotes>} [quotes] what a tap copies
 */
export function numbersTable(numbers, units, quotes) {
  const rows = NUMBERS.map(([name, label, say]) =>
    numberRow(name, label, say(numbers[name], units), reasonFor(numbers, name), quotes),
  );
  return element(
    "table",
    { class: "numbers" },
    element("caption", { class: "unseen" }, "Measured numbers with their 90 % intervals"),
    element(
      "thead",
      {},
      element(
        "tr",
        {},
        ["Number", "Value", "90 % interval"].map((name) => element("th", { scope: "col" }, name)),
      ),
    ),
    element("tbody", {}, rows, slotsRow(numbers, quotes), colourRow(numbers, quotes)),
  );
}

function numberRow(name, label, words, reason, quotes) {
  const head = element("th", { scope: "row" }, label);
  if (!words) return element("tr", {}, head, element("td", { colspan: 2, class: "quiet" }, reason));
  return element(
    "tr",
    {},
    head,
    element("td", { class: "value" }, copyable(words.value, label, quotes?.number(name), { id: `copy-${name}` })),
    element("td", {}, words.interval),
  );
}

function slotsRow(numbers, quotes) {
  if (!numbers.slots?.length) return null;
  const words = numbers.slots
    .map((share) => (share === null ? "not had" : `${Math.round(share * 100)} %`))
    .join(", ");
  return element(
    "tr",
    {},
    element("th", { scope: "row" }, "Canopy fill by plant"),
    element("td", { colspan: 2 }, copyable(words, "Canopy fill by plant", quotes?.number("slots"), { id: "copy-slots" })),
  );
}

function colourRow(numbers, quotes) {
  const head = element("th", { scope: "row" }, "Bloom colour");
  const colour = numbers.bloom_colour;
  if (!colour)
    return element(
      "tr",
      {},
      head,
      element("td", { colspan: 2, class: "quiet" }, reasonFor(numbers, "bloom_colour")),
    );
  const [lightness, a, b] = colour.lab.map((value) => value.toFixed(0).replace("-", "−"));
  const spread =
    colour.spread_de00 === null || colour.spread_de00 === undefined
      ? ""
      : `, spread ΔE00 ${colour.spread_de00.toFixed(1)}`;
  const words = `${colour.hex} · CIELAB ${lightness}, ${a}, ${b}${spread}`;
  return element("tr", {}, head, element("td", { colspan: 2 }, copyable([swatch(colour.hex), words], "Bloom colour", quotes?.number("bloom_colour"), { id: "copy-colour" })));
}

/** A patch of a measured or declared colour, with its name for those who do not see it. */
export function swatch(hex) {
  const patch = element("span", { class: "swatch", role: "img", "aria-label": `colour ${hex}` });
  patch.style.backgroundColor = hex;
  return patch;
}

export function warningsList(numbers) {
  const warnings = numbers?.quality?.warnings ?? [];
  if (!warnings.length) return null;
  return element(
    "ul",
    { class: "warnings" },
    warnings.map((warning) => element("li", {}, element("b", {}, "Look: "), warning.message)),
  );
}

/** The plant that lags behind the others, in a sentence with its numbers; null where none does. */
export function laggingFinding(measurement) {
  const { numbers, frame_polygon: frame } = measurement?.fields ?? {};
  if (!numbers?.lagging_slot || !isUsable(measurement)) return null;
  const fill = numbers.slots.map((share) => Math.round(share * 100));
  const [own] = fill.splice(numbers.lagging_slot - 1, 1);
  const [least, most] = [Math.min(...fill), Math.max(...fill)];
  const others = least === most ? `${least} %` : `${least}–${most} %`;
  return element(
    "p",
    { class: "finding" },
    `Plant ${numbers.lagging_slot} of ${numbers.slots.length}, from the ${isUpright(frame) ? "top" : "left"}, `,
    `lags behind the others: it fills ${own} % of its part, the others ${others}. Check its water, then its roots.`,
  );
}

function isUpright(frame) {
  const extent = (axis) => {
    const values = (frame ?? []).map((corner) => corner[axis]);
    return Math.max(...values) - Math.min(...values);
  };
  return extent(1) > extent(0);
}

/**
 * What stands in the way of a photo's numbers, or of newer ones, and a way to try again; null where nothing does.
 *
 * @param {{journal: import("../sync/journal.js").Journal, notices: Object}} context
 * @param {Object} photo record @param {Object | null} measurement the newest there is
 */
export function measuringState(context, photo, measurement) {
  const { measuring, measuring_note: note } = photo.fields;
  if (measuring === "done") return null;
  const before = measurement ? " Below are the numbers from before." : "";
  if (measuring !== "failed") return element("p", {}, `Waiting to be measured; it goes on by itself.${before}`);
  return element(
    "div",
    { class: "problem" },
    element("p", {}, `Measuring this photo failed; the photo itself is safe.${before}`),
    note && element("p", { class: "quiet" }, note),
    button("Try again", () => tryAgain(context, [photo.id]), { id: "measure-again" }),
  );
}

export async function tryAgain({ journal, notices }, photoIds) {
  try {
    await journal.measureAgain(photoIds);
    notices.say("Measuring again.");
  } catch (problem) {
    notices.say(problem.message);
  }
}
