/** Choosing which cards to print, on which paper. */

import { element, freshId, link } from "../dom.js";
import { describePlanting, plantingsInWalkOrder } from "../../store/queries.js";
import { cultivarName } from "../names.js";
import { chooser } from "../chooser.js";

export function cardsScreen({ journal }, { trial: trialId }) {
  const { store } = journal;
  const plantings = plantingsInWalkOrder(store, trialId).filter((planting) => !planting.fields.removed_on);
  if (!plantings.length) {
    return {
      title: "Cards",
      nodes: [
        element("h1", {}, "Print the cards"),
        element(
          "p",
          {},
          "No plantings yet. ",
          link(`#/set-up/trials/${trialId}/list`, {}, "Enter the plantings"),
        ),
      ],
    };
  }
  const open = link(
    "",
    { class: "primary", target: "_blank", rel: "noopener", id: "open-cards" },
    "Open the cards as PDF",
  );
  const boxes = plantings.map((planting) => ({
    planting,
    box: element("input", { type: "checkbox", checked: true, onchange: () => aim() }),
  }));
  const paper = chooser(
    [
      ["", "as in Settings"],
      ["a4", "A4"],
      ["letter", "Letter"],
    ],
    "",
    () => aim(),
  );
  paper.id = freshId("paper");
  const aim = () => {
    const query = new URLSearchParams(
      boxes.filter(({ box }) => box.checked).map(({ planting }) => ["planting", planting.id]),
    );
    const chosen = query.size > 0;
    if (paper.value) query.set("paper", paper.value);
    open.toggleAttribute("hidden", !chosen);
    open.href = `/api/cards.pdf?${query}`;
  };
  aim();
  return {
    title: "Cards",
    nodes: [
      element("h1", {}, "Print the cards"),
      element(
        "p",
        {},
        "Print at 100 %, on matt white card, cut along the marks, and stand each upright near the rim, facing the camera. Its white is the white of every measured colour.",
      ),
      element(
        "ul",
        { class: "rows" },
        boxes.map(({ planting, box }) =>
          element("li", {}, element("label", { class: "row" }, box, words(store, planting))),
        ),
      ),
      element("div", { class: "field" }, element("label", { for: paper.id }, "Paper"), paper),
      element("div", { class: "action-bar" }, open),
    ],
  };
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
