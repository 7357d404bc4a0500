/** The review of a trial: every cultivar in every kind of place with its picture, its verdict so far and what is missing. */

import { element, freshId, link, live, redraw } from "../dom.js";
import { chosenTrial } from "../../store/queries.js";
import { changedNumbers, missing, photosOf, stateOf, verdictScreenAddress, verdictsAddress, verdictsToWrite } from "../../store/verdicts.js";
import { capital, countInWords, trialInWords } from "../../words.js";
import { chooser } from "../chooser.js";
import { asOf } from "../figure.js";
import { cultivarName, doubtMark } from "../names.js";
import { thumbnail } from "../picture.js";
import { problemNote } from "../problem.js";
import { saidSoFar } from "./words.js";
import { noTrialYet } from "../no_trial.js";

const KINDS = ["verdict", "planting", "planter", "cultivar", "photo", "trial"];

export function reviewScreen({ journal, go }, { trial: trialId }) {
  const { store, server } = journal;
  const trial = chosenTrial(store, trialId);
  if (!trial) return { title: "Review", nodes: [element("h1", {}, "Review"), noTrialYet()] };
  const now = { verdicts: [] };
  const kept = element("div", {});
  const draw = () => parts(store, trial.id, now.verdicts);
  const place = live(store, KINDS, draw, { class: "stack" });
  askVerdicts(server, trial.id, kept, (verdicts) => {
    now.verdicts = verdicts;
    redraw(place, draw());
  });
  return {
    title: "Review",
    wide: true,
    nodes: [
      element("h1", {}, "Review"),
      whichTrial(store, trial, go),
      ways(trial.id),
      kept,
      place,
    ],
  };
}

async function askVerdicts(server, trialId, kept, tell) {
  try {
    const { answer, keptSince } = await server.getDated(verdictsAddress(trialId));
    tell(answer.verdicts);
    redraw(kept, asOf(keptSince));
  } catch (problem) {
    redraw(kept, problemNote(problem, () => askVerdicts(server, trialId, kept, tell)));
  }
}

function whichTrial(store, trial, go) {
  const trials = store.all("trial");
  if (trials.length < 2) return element("p", { class: "quiet" }, trialInWords(trial));
  const select = chooser(trials.map((one) => [one.id, trialInWords(one)]), trial.id, (event) => go(`#/review/${event.target.value}`));
  select.id = freshId("review");
  return element("div", { class: "filters" }, element("div", {}, element("label", { for: select.id }, "Trial"), select));
}

function ways(trialId) {
  return element(
    "div",
    { class: "ways" },
    link(`#/review/reports/${trialId}`, { class: "secondary" }, "Reports"),
    link(`#/review/how-sure/${trialId}`, { class: "secondary" }, "How sure"),
    link(`#/review/reports/${trialId}?of=order-list`, { class: "secondary" }, "Order list"),
  );
}

function parts(store, trialId, asked) {
  const seats = verdictsToWrite(store, trialId).map((seat) => {
    const now = asked.find(({ id }) => id === seat.id)?.now ?? null;
    const quoted = seat.record?.fields.quoted ?? [];
    return { ...seat, state: stateOf(seat.record?.fields ?? null), changed: now ? changedNumbers(quoted, now).length : 0 };
  });
  if (!seats.length)
    return element("p", {}, "No planting in this trial yet. ", link(`#/set-up/trials/${trialId}/list`, {}, "Enter the plantings"));
  return [
    element("section", {}, element("h2", {}, "Verdicts"), element("p", {}, summary(seats))),
    element("ul", { class: "plantings verdicts" }, seats.map((seat) => element("li", {}, row(store, trialId, seat)))),
  ];
}

function summary(seats) {
  const count = (state) => seats.filter((seat) => seat.state === state).length;
  const flagged = seats.filter(({ changed }) => changed).length;
  const written = `${count("written")} of ${seats.length} written`;
  const begun = count("begun") && `${count("begun")} begun`;
  return [
    [written, begun].filter(Boolean).join(", "),
    ". ",
    flagged > 0 && element("span", { class: "signal" }, `Numbers have changed under ${countInWords(flagged, "text")}.`),
  ];
}

function row(store, trialId, { cultivarId, place, plantings, record, state, changed }) {
  const cultivar = store.get("cultivar", cultivarId);
  const photos = photosOf(store, plantings);
  const best = photos.find(({ id }) => id === record?.fields.pictures?.best) ?? photos.at(-1);
  const doubtful = plantings.find(({ fields }) => fields.identity === "doubtful");
  const planters = plantings.map(({ fields }) => store.get("planter", fields.planter_id)?.fields.name).filter(Boolean);
  return link(
    verdictScreenAddress(trialId, cultivarId, place),
    { class: "planting" },
    best ? thumbnail(best) : element("span", { class: "thumb none" }, "no photo"),
    element("span", { class: "name" }, cultivarName(cultivar), doubtful && doubtMark(doubtful)),
    element("span", { class: "quiet" }, [place === "ground" ? "ground" : null, planters.join(", ") || "stands nowhere any more"].filter(Boolean).join(": ")),
    element("span", { class: "verdict-line" }, verdictLine(record?.fields, state)),
    changed > 0 && element("span", { class: "signal" }, `${countInWords(changed, "number")} changed since it was written`),
  );
}

function verdictLine(fields, state) {
  if (state === "not begun") return element("span", { class: "quiet" }, "Not begun");
  const said = saidSoFar(fields);
  const left = missing(fields);
  return [
    said && element("span", { class: "said-line" }, said),
    left.length > 0 && element("span", { class: "quiet" }, `${said ? " " : ""}${capital(`missing: ${left.join(", ")}`)}`),
  ];
}
