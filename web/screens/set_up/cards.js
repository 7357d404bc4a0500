/** Choosing which cards to print, how many spare ones, on which paper. */

import { button, element, freshId, link } from "../dom.js";
import { describePlanting, plantingsInWalkOrder } from "../../store/queries.js";
import { countInWords } from "../../words.js";
import { chooser } from "../chooser.js";
import { cultivarName } from "../names.js";

const MOST_SPARE = 60;
const PAPERS = [
  ["", "as in Settings"],
  ["a4", "A4"],
  ["letter", "Letter"],
];

export function cardsScreen({ journal }, { trial: trialId }) {
  const { store } = journal;
  const plantings = plantingsInWalkOrder(store, trialId).filter((planting) => !planting.fields.removed_on);
  const boxes = plantings.map((planting) => ({
    planting,
    box: element("input", { type: "checkbox", checked: true, onchange: () => aim() }),
  }));
  const paper = chooser(PAPERS, "", () => aim());
  paper.id = freshId("paper");
  const spare = element("input", { id: freshId("spare"), class: "few", type: "number", min: 0, max: MOST_SPARE, value: "0", inputmode: "numeric", oninput: () => aim() });
  const open = link("", { class: "primary", target: "_blank", rel: "noopener", id: "open-cards" }, "Open the cards as PDF");
  const count = element("p", { role: "status", class: "quiet" });
  const aim = () => {
    const chosen = boxes.filter(({ box }) => box.checked).map(({ planting }) => planting.id);
    const spares = spareCount(spare.value);
    count.textContent = countWords(chosen.length, spares);
    open.hidden = spares === null || !(chosen.length + spares);
    open.href = `/api/cards.pdf?${cardsQuery(chosen, spares, paper.value)}`;
  };
  const tickAll = (ticked) => () => {
    for (const { box } of boxes) box.checked = ticked;
    aim();
  };
  aim();
  return {
    title: "Cards",
    nodes: [
      element("h1", {}, "Print the cards"),
      advice(),
      plantings.length ? choice(store, boxes, tickAll) : nothingPlanted(trialId),
      element(
        "div",
        { class: "field" },
        element("label", { for: spare.id }, "Spare cards"),
        element("p", { class: "help", id: `${spare.id}-help` }, "With fresh codes, for plantings to come: give the code to the planting that gets the card, under Card code."),
        spare,
      ),
      element("div", { class: "field" }, element("label", { for: paper.id }, "Paper"), paper),
      count,
      element("div", { class: "action-bar" }, open),
    ],
  };
}

function advice() {
  return element(
    "ul",
    { class: "advice" },
    [
      "Print at 100 % (actual size, not fitted to the page). Measure the line at the foot of the sheet: it is 100 mm, or the cards are no scale.",
      "Matt white paper or card, cut along the corner marks. No glossy lamination: its glare hides the code and whitens the squares. Against rain a matt pouch, or weatherproof matt paper in a laser printer.",
      "Stand each upright near the rim, facing the camera. Its white is the white of every measured colour.",
    ].map((words) => element("li", {}, words)),
  );
}

function choice(store, boxes, tickAll) {
  return element(
    "section",
    {},
    element("div", { class: "ways" }, button("Tick all", tickAll(true)), button("Tick none", tickAll(false))),
    element(
      "ul",
      { class: "rows" },
      boxes.map(({ planting, box }) => element("li", {}, element("label", { class: "row" }, box, words(store, planting)))),
    ),
  );
}

function nothingPlanted(trialId) {
  return element("p", {}, "No plantings yet. ", link(`#/set-up/trials/${trialId}/list`, {}, "Enter the plantings"), ", or print spare cards.");
}

/** Null where what was typed is no number of cards. */
function spareCount(typed) {
  const count = Number(typed || 0);
  return Number.isInteger(count) && count >= 0 && count <= MOST_SPARE ? count : null;
}

function countWords(chosen, spares) {
  if (spares === null) return `Spare cards: a whole number from 0 to ${MOST_SPARE}.`;
  const all = chosen + spares;
  return all ? `${countInWords(all, "card")} on ${countInWords(Math.ceil(all / 6), "sheet")}.` : "No card is chosen.";
}

function cardsQuery(chosen, spares, paper) {
  const query = new URLSearchParams(chosen.length ? chosen.map((id) => ["planting", id]) : [["plantings", "none"]]);
  if (spares) query.set("spare", spares);
  if (paper) query.set("paper", paper);
  return query;
}

function words(store, planting) {
  const known = describePlanting(store, planting.id);
  return element(
    "span",
    {},
    cultivarName(known.cultivar),
    ` ${known.planter?.fields.name ?? ""} `,
    element("span", { class: "quiet unbroken" }, planting.fields.card_code),
  );
}
