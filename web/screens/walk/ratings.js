/** Ratings from 1 to 5, 5 best, each with last time's beside it; a second tap takes one back. */

import { button, element, freshId, live } from "../dom.js";
import { lastRatings, RATED, ratingId } from "../../store/walk.js";
import { capital, shortDayInWords } from "../../words.js";

const RATER = "rater";
const SCALE = [1, 2, 3, 4, 5];

export function ratingsPart({ visit, told, journal }) {
  const now = { rater: "" };
  const draw = () => {
    const own = visit.store.get("rating", ratingId(visit.id, now.rater));
    const before = lastRatings(visit.store, visit.plantingId, now.rater, visit.day);
    return [
      before && element("p", { class: "quiet" }, `Last rated on ${shortDayInWords(before.fields.rated_on)}${by(before)}.`),
      RATED.map((name) => ratingRow({ visit, told, rater: now.rater, own, before }, name)),
    ];
  };
  const rows = live(visit.store, ["rating"], draw, { class: "ratings" });
  const again = () => rows.replaceChildren(...draw().flat().filter(Boolean));
  const who = raterLine(journal, now, again);
  return element("div", { class: "visit-group" }, rows, who);
}

const by = ({ fields }) => (fields.rater ? ` by ${fields.rater}` : "");

function ratingRow({ visit, told, rater, own, before }, name) {
  const id = freshId(name);
  const value = own?.fields[name] ?? null;
  const last = before?.fields[name];
  return element(
    "div",
    { class: "rating", role: "group", "aria-labelledby": id },
    element(
      "p",
      { id },
      element("span", {}, capital(name)),
      last ? element("span", { class: "quiet" }, ` last time ${last}`) : null,
    ),
    element(
      "div",
      { class: "scale" },
      SCALE.map((number) =>
        button(String(number), () => rate({ visit, told, rater, own }, name, number === value ? null : number), {
          id: `rate-${name}-${number}`,
          "aria-label": `${capital(name)} ${number} of 5`,
          "aria-pressed": String(number === value),
        }),
      ),
    ),
  );
}

function rate({ visit, told, rater, own }, name, value) {
  const begun = own ? {} : { visit_id: visit.id, planting_id: visit.plantingId, rated_on: visit.day, rater };
  const change = { kind: "rating", id: ratingId(visit.id, rater), fields: { ...begun, [name]: value } };
  const says = value ? `Rated: ${name} ${value}.` : `Rating taken back: ${name}.`;
  return told.keep(() => visit.note([change]), says);
}

/** Who rates is said once on each phone; without a name the ratings are this journal's own. */
function raterLine(journal, now, again) {
  const id = freshId("rater");
  const input = element("input", { id, type: "text", autocomplete: "off", maxlength: 60 });
  input.addEventListener("change", () => {
    now.rater = input.value.trim();
    journal.device.set(RATER, now.rater);
    again();
  });
  journal.device.get(RATER).then((kept) => {
    if (!kept) return;
    now.rater = input.value = kept;
    again();
  });
  return element(
    "details",
    { id: "who-rates" },
    element("summary", {}, "Who rates"),
    element("div", { class: "field" }, element("label", { for: id }, "Name of the rater on this phone (may stay empty)"), input),
  );
}
