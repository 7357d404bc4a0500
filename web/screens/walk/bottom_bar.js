/** At the thumb: the shutter, what was just kept, back to the list, on to the next planting. */

import { button, element, live, redraw } from "../dom.js";
import { nextOnWalk } from "../../store/walk.js";
import { Tour } from "./tour.js";
import { placeInWords } from "./words.js";

export function bottomBar({ context, journal, visit, told }, photos) {
  let tour = new Tour(journal, visit.trialId, visit.day, null);
  const leaveFor = async (address, before) => {
    await photos.settled();
    if (told.isInTrouble || !(await told.keep(before, ""))) return;
    context.go(address);
  };
  const toList = () => leaveFor("#/walk", () => visit.record && done());
  const done = async () => {
    if (!visit.planting) return;
    await visit.setDone(true);
    await tour.comeBackTo(visit.plantingId);
  };
  const draw = () => {
    const next = nextOnWalk(tour.overview().entries, visit.plantingId);
    const address = next ? `#/walk/${next.planting.id}` : "#/walk";
    const there = next ? placeInWords(journal.store, next.planting) : "";
    const words = next ? there : "the end of the walk";
    const skip = () => leaveFor(address, () => tour.skip(visit.plantingId));
    return [
      button("List", toList, { id: "to-list", "aria-label": "Back to the list" }),
      visit.record ? null : button("Skip", skip, { id: "skip" }),
      button([element("span", {}, next ? "Done. Next:" : "Done. To"), " ", element("b", {}, words)], () => leaveFor(address, done), {
        id: "next",
        class: "strong",
      }),
    ];
  };
  const ways = live(journal.store, ["visit", "planting", "planter"], draw, { class: "onward" });
  Tour.of(journal, visit.trialId, visit.day).then((kept) => {
    tour = kept;
    redraw(ways, draw());
  });
  return element("div", { class: "action-bar visit-bar" }, told.node, photos.remarks, photos.shutter, ways);
}
