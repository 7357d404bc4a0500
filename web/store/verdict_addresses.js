/** What the screens of the review ask for of the latest trial, to be brought ahead of them. Pure. */

import { chosenTrial } from "./queries.js";
import { draftsAddress, verdictsAddress, verdictsToWrite } from "./verdicts.js";
import { endedCounts, howSureAddress, howSureFigures } from "./point_counts.js";

/** Verdicts of which the drafts are brought ahead; the rest is kept when it is looked at. */
const MOST = 300;
/** Kinds that the sentences rest on, beside the planting itself. */
const RESTS_ON = ["photo", "measurement", "plant_count", "care", "finding", "rating"];

/**
 * A stamp changes when the answer may have, for the verdict's own plantings: that another plant of the genus did better
 * meanwhile is told when the server is asked again.
 *
 * @param {number} width in which a figure is drawn here @returns {{address: string, stamp: string}[]}
 */
export function verdictAddresses(store, width) {
  const trial = chosenTrial(store);
  const seats = trial ? verdictsToWrite(store, trial.id) : [];
  if (!seats.length) return [];
  const newest = newestByPlanting(store);
  const stampOf = ({ cultivarId, plantings }) =>
    [store.get("cultivar", cultivarId), ...plantings].map((one) => `${one?.seq ?? 0} ${newest.get(one?.id) ?? ""}`).join(", ");
  return [
    { address: verdictsAddress(trial.id), stamp: `${store.cursor}` },
    ...seats.slice(0, MOST).map((seat) => ({ address: draftsAddress(trial.id, seat.cultivarId, seat.place), stamp: stampOf(seat) })),
    ...howSureAddresses(store, trial.id, width),
  ];
}

/** How sure the numbers are changes with the counts, with new measurements, and with what is left to count. */
function howSureAddresses(store, trialId, width) {
  const records = ["point_count", "photo", "measurement"].flatMap((kind) => store.all(kind));
  const stamp = `${records.length} ${records.reduce((newest, { seq }) => Math.max(newest, seq ?? 0), 0)}`;
  const counted = new Set(store.all("point_count").map(({ fields }) => fields.photo_id));
  const ended = [...counted].filter((photoId) => endedCounts(store, photoId).length).length;
  return [howSureAddress(trialId), ...howSureFigures(trialId, ended, width)].map((address) => ({ address, stamp }));
}

/** For each planting how many records its sentences rest on, and the newest of them. @returns {Map<string, string>} */
function newestByPlanting(store) {
  const found = new Map();
  for (const kind of RESTS_ON) {
    for (const { seq, fields } of store.all(kind)) {
      const one = found.get(fields.planting_id) ?? { count: 0, newest: 0 };
      found.set(fields.planting_id, { count: one.count + 1, newest: Math.max(one.newest, seq ?? 0) });
    }
  }
  return new Map([...found].map(([id, { count, newest }]) => [id, `${count} ${newest}`]));
}
