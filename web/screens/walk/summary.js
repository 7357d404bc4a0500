/** What a walk brought, once it is ended. */

import { element, link } from "../dom.js";
import { summaryOfWalk } from "../../store/walk.js";
import { countInWords } from "../../words.js";
import { placeInWords } from "./words.js";

export function endedSummary(journal, walk) {
  const { store, queue } = journal;
  const brought = summaryOfWalk(store, walk.id);
  const places = (state) =>
    walk.entries.filter((entry) => entry.state === state).map(({ planting }) => placeInWords(store, planting));
  const [skipped, left] = [places("skipped"), places("to do")];
  const { waiting } = queue.state;
  const lines = [
    `${brought.done} of ${countInWords(walk.entries.length, "planting")} done`,
    countInWords(brought.photos, "photo"),
    countInWords(brought.findings, "finding"),
    brought.recordings > 0 && countInWords(brought.recordings, "spoken remark"),
    brought.care > 0 && `${countInWords(brought.care, "time")} care was noted`,
    skipped.length > 0 && `Skipped: ${skipped.join("; ")}`,
    left.length > 0 && `Not seen: ${left.join("; ")}`,
  ];
  return element(
    "section",
    { class: "walk-summary", id: "walk-summary" },
    element("h2", {}, "What it brought"),
    element(
      "ul",
      { class: "rows" },
      lines.filter(Boolean).map((words) => element("li", {}, words)),
      element(
        "li",
        {},
        waiting
          ? link("#/waiting", {}, `${countInWords(waiting, "entry", "entries")} waiting to be sent`)
          : "Everything has been sent.",
      ),
    ),
  );
}
