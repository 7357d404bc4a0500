/** The list of a walk: one row a planting, with its last photo and what is due, noted, done. */

import { element, link } from "../dom.js";
import { cultivarName, doubtMark } from "../names.js";
import { countInWords } from "../../words.js";
import { walkThumb } from "./thumb.js";
import { dueInWords, findingsInWords, placeInWords, whereItStands } from "./words.js";

/**
 * Rows that say the same as before stay the same nodes: a change of one planting leaves the other pictures alone.
 *
 * @param {Map<string, {says: string, node: Node}>} rows those of the last time, by planting
 */
export function stops(journal, walk, rows) {
  const nodes = walk.entries.map((entry) => {
    const words = wordsOf(journal.store, entry, walk.day);
    const picture = entry.lastPhoto && journal.pictureAddress(entry.lastPhoto.id, "thumb");
    const says = JSON.stringify([words, picture]);
    const held = rows.get(entry.planting.id);
    const row = held?.says === says ? held : { says, node: stop(journal, entry, words) };
    rows.set(entry.planting.id, row);
    return row.node;
  });
  return element("ol", { class: "stops", "aria-label": "Plantings in walking order" }, nodes);
}

const wordsOf = (store, entry, day) => ({
  place: placeInWords(store, entry.planting),
  cultivar: entry.cultivar?.fields,
  doubt: entry.planting.fields.identity,
  stands: whereItStands(entry, day),
  due: dueInWords(entry.due),
  before: entry.foundBefore.length ? `Last time: ${findingsInWords(entry.foundBefore)}` : "",
  state: entry.state,
  today: todayInWords(entry),
});

function todayInWords(entry) {
  const { photos, foundNow } = entry;
  return [photos.length && countInWords(photos.length, "photo"), findingsInWords(foundNow)]
    .filter(Boolean)
    .join(" · ");
}

function stop(journal, entry, words) {
  const { planting, cultivar, lastPhoto } = entry;
  return element(
    "li",
    {},
    link(
      `#/walk/${planting.id}`,
      { class: "stop", id: `stop-${planting.id}` },
      walkThumb(journal, lastPhoto),
      element("span", { class: "name" }, words.place),
      element("span", { class: `state ${words.state.replace(" ", "-")}` }, words.state),
      element("span", { class: "what" }, cultivarName(cultivar), doubtMark(planting)),
      element("span", { class: "quiet" }, words.stands),
      words.due && element("span", { class: "due" }, words.due),
      words.before && element("span", { class: "before" }, words.before),
      words.today && element("span", { class: "today" }, `Today: ${words.today}`),
    ),
  );
}
