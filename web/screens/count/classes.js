/** What counts as what, in the words of the trade; the same on the first screen of a count and beside the points. */

import { element } from "../dom.js";

const MEANINGS = [
  ["Bloom", "an open flower with its eye, throat and centre; also one that has faded and is still open"],
  ["Spent", "a flower that has shrivelled, browned or turned papery"],
  ["Foliage", "leaves, stems and buds, also in the shade inside the plant"],
  ["Other", "soil, planter, wall, card, other plants: all that is not this plant"],
];

export function meanings() {
  const rows = MEANINGS.map(([word, meaning]) => element("div", {}, element("dt", {}, word), element("dd", {}, meaning)));
  return [
    element("dl", { class: "facts" }, rows),
    element(
      "p",
      { class: "quiet" },
      "Judge what lies in the very middle of the ring. On an edge, what fills more of the middle counts.",
    ),
  ];
}
