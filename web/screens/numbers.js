/** The numbers of one measurement, each with its interval, or with the reason why it could not be had. */

import { element } from "./dom.js";
import { amountInWords, shareInWords } from "../words.js";

const NUMBERS = [
  ["canopy_fill", "Canopy fill", shareInWords],
  ["bloom_cover", "Bloom cover", shareInWords],
  ["spent_share", "Spent bloom", shareInWords],
  ["flower_to_leaf", "Flower to leaf", (number) => amountInWords(number)],
  ["evenness", "Evenness", (number) => amountInWords(number)],
  ["spill_cm", "Spill over the rim", (number) => amountInWords(number, "cm")],
];

/** The two numbers that lead: canopy fill and bloom cover, large. */
export function leadingNumbers(measurement) {
  const numbers = measurement?.fields.numbers;
  if (!numbers) return null;
  return element(
    "dl",
    { class: "leading" },
    NUMBERS.slice(0, 2).map(([name, label, say]) => leading(numbers, name, label, say)),
  );
}

function leading(numbers, name, label, say) {
  const words = say(numbers[name]);
  return element(
    "div",
    {},
    element("dt", {}, label),
    element(
      "dd",
      {},
      element("span", { class: "big" }, words?.value ?? "not had"),
      element("span", { class: "interval" }, words?.interval ?? reasonFor(numbers, name)),
    ),
  );
}

const reasonFor = (numbers, name) => numbers.reasons?.[name] ?? "no reason was given";

/** @param {Object} numbers the JSON of one measurement */
export function numbersTable(numbers) {
  const rows = NUMBERS.map(([name, label, say]) =>
    numberRow(label, say(numbers[name]), reasonFor(numbers, name)),
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
    element("tbody", {}, rows, slotsRow(numbers), colourRow(numbers)),
  );
}

function numberRow(label, words, reason) {
  const head = element("th", { scope: "row" }, label);
  if (!words) return element("tr", {}, head, element("td", { colspan: 2, class: "quiet" }, reason));
  return element(
    "tr",
    {},
    head,
    element("td", { class: "value" }, words.value),
    element("td", {}, words.interval),
  );
}

function slotsRow(numbers) {
  if (!numbers.slots?.length) return null;
  const words = numbers.slots
    .map((share) => (share === null ? "not had" : `${Math.round(share * 100)} %`))
    .join(", ");
  return element(
    "tr",
    {},
    element("th", { scope: "row" }, "Canopy fill by plant"),
    element("td", { colspan: 2 }, words),
  );
}

function colourRow(numbers) {
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
  return element("tr", {}, head, element("td", { colspan: 2 }, swatch(colour.hex), ` ${words}`));
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

const STILL_WORDS = {
  waiting: "Waiting to be measured; it goes on by itself.",
  failed: "Measuring this photo failed; the photo itself is safe.",
  refused: "This photo cannot be measured.",
};

/** Why a photo has no numbers. @param {Object} photo record */
export function whyNoNumbers(photo) {
  const { measuring, measuring_note: note, planting_id: settled } = photo.fields;
  const words =
    settled || measuring === "refused"
      ? (STILL_WORDS[measuring] ?? "Not measured yet.")
      : "A photo is measured once its planting is settled.";
  return [element("p", {}, words), note && element("p", { class: "quiet" }, note)];
}
