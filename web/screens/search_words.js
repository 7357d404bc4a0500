/** How each kind of thing that was found is told, and the way to it. */

import { element, link } from "./dom.js";
import { describePlanting, grownInWords } from "../store/queries.js";
import { capital, countInWords, dayInWords, momentInWords, trialInWords, weekInWords } from "../words.js";
import { verdictScreenAddress } from "../store/verdicts.js";
import { cultivarName, doubtMark } from "./names.js";
import { PLACE_WORDS } from "./review/words.js";
import { doneInWords } from "./care/words.js";
import { findingInWords } from "./walk/words.js";

const LONGEST = 160;

/** @param {import("../store/search.js").Entry} entry */
export function foundRow(store, entry) {
  const record = store.get(entry.kind, entry.id);
  if (!record) return element("span", { class: "quiet" }, "Deleted meanwhile");
  const { address, name, facts } = (TOLD[entry.kind] ?? dated)(store, record);
  return link(
    address,
    { class: "row" },
    element("span", {}, name),
    element("span", { class: "quiet" }, facts.filter(Boolean).join(" · ")),
  );
}

const TOLD = {
  planting(store, planting) {
    const { cultivar, planter, season } = describePlanting(store, planting.id);
    const { planted_on: planted, removed_on: removed, card_code: card, label_said: label } = planting.fields;
    const when = removed ? `${dayInWords(planted)} to ${dayInWords(removed)}` : `planted on ${dayInWords(planted)}`;
    const name = [cultivarName(cultivar), doubtMark(planting)];
    return {
      address: `#/plantings/${planting.id}`,
      name,
      facts: [planter?.fields.name, season, when, card, label && `label said “${label}”`],
    };
  },
  cultivar(store, cultivar) {
    const { earlier_names: earlier, habit, standard } = cultivar.fields;
    const called = earlier?.length && `called ${earlier.join(", ")} before`;
    const facts = [called, grownInWords(store, cultivar.id), habit, standard && "standard"];
    return { address: `#/set-up/cultivars/${cultivar.id}`, name: cultivarName(cultivar), facts };
  },
  planter(store, planter) {
    const { name, planter_kind: kind, exposure, trial_id: trialId } = planter.fields;
    return { address: `#/set-up/planters/${planter.id}`, name, facts: [kind, exposure, trialNamed(store, trialId)] };
  },
  trial: (_store, { id, fields }) => ({ address: `#/season/${id}`, name: fields.title, facts: [fields.year, fields.site] }),
  verdict(store, { fields }) {
    const { trial_id: trialId, cultivar_id: cultivarId, place, one_line: line, text } = fields;
    return {
      address: verdictScreenAddress(trialId, cultivarId, place),
      name: cultivarName(store.get("cultivar", cultivarId)),
      facts: [PLACE_WORDS[place], trialNamed(store, trialId), shortened(line ?? text ?? "")],
    };
  },
  photo(store, photo) {
    const { taken_at: moment, file_name: file, set_aside: aside } = photo.fields;
    const known = describePlanting(store, photo.fields.planting_id);
    const week = known && weekInWords(known.planting.fields.planted_on, moment);
    return { address: `#/photos/${photo.id}`, name: momentInWords(moment), facts: [where(known), week, file, aside && "set aside"] };
  },
};

/** What was noted on a day, at a planting or for a whole trial. */
function dated(store, record) {
  const { day, words } = SAID[record.kind](record.fields);
  const known = describePlanting(store, record.fields.planting_id);
  const place = known ? where(known) : trialNamed(store, record.fields.trial_id);
  return { address: known ? `#/plantings/${known.planting.id}` : "#/care", name: capital(shortened(words)), facts: [place, day && dayInWords(day)] };
}

const SAID = {
  visit: (fields) => ({ day: fields.visited_on, words: fields.remark }),
  look_at_answer: (fields) => ({ day: fields.day, words: fields.note }),
  finding: (fields) => ({ day: fields.found_on, words: listed(findingInWords(fields), fields.note) }),
  care: (fields) => ({ day: fields.done_on, words: listed(doneInWords(fields.action), fields.product && `with ${fields.product}`, fields.note) }),
  plant_count: (fields) => ({ day: fields.counted_on, words: listed(countInWords(fields.plants, "plant living", "plants living"), fields.reason, fields.note) }),
  identity_note: (fields) => ({
    day: fields.decided_on,
    words: listed(fields.thought === "doubtful" ? "in doubt" : "confirmed", fields.says, fields.label_said && `label said “${fields.label_said}”`, fields.note),
  }),
  recording: (fields) => ({ day: fields.recorded_at?.slice(0, 10), words: listed("spoken remark", fields.note) }),
};

const listed = (...words) => words.filter(Boolean).join(", ");

const trialNamed = (store, id) => store.get("trial", id) && trialInWords(store.get("trial", id));

const where = (known) => known && listed(known.name, known.planter?.fields.name, known.season);

const shortened = (words) => (words.length > LONGEST ? `${words.slice(0, LONGEST).trimEnd()} …` : words);
