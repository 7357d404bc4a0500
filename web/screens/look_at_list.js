/** Things to look at, each with its evidence, a way to dismiss it and a way to keep it as a note. */

import { button, element, link, live, redraw } from "./dom.js";
import { describePlanting, isMeasuring } from "../store/queries.js";
import { countInWords, dayInWords, shareInWords, shortDayInWords, unbroken } from "../words.js";
import { plantingLink } from "./names.js";
import { problemNote } from "./problem.js";
import { settle } from "./settle.js";
import { thumbnail } from "./picture.js";
import { copyable, copyTable } from "./copy/copyable.js";
import { asOf } from "./figure.js";
import { lastDayIfOver, lookAtAddress } from "../store/season_addresses.js";
import { ServerUnreachable } from "../sync/server.js";

/** So many things of one rule are shown at once; more are folded away. */
const FEW = 2;

export const RULE_WORDS = {
  bloom_fell: "Bloom lost while the leaves are fine",
  lagging_plant: "One plant lags",
  shrank: "Shrank",
  stopped_growing: "Stopped growing",
  not_yet_in_bloom: "Not yet in bloom",
  spent_high: "Spent bloom shows",
  self_cleaning: "Self-cleaning",
  colour_moved: "Colour moved more than usual",
  care_overdue: "Care overdue",
  heat_ahead: "Heat ahead",
  card_missing: "Card not readable",
  identity_doubtful: "Identity in doubt",
  not_photographed: "Not photographed for long",
};

/**
 * @param {{journal: import("../sync/journal.js").Journal, notices: Object}} context
 * @param {{trialId?: string, plantingId?: string, day?: string, without?: string[], ifNothing?: string}} of the things of
 *   a trial or of one planting; `day`: as of an earlier one, those answered since included; `without`: rules that the
 *   screen tells elsewhere; `ifNothing`: what to say when there are none
 */
export function lookAtList(context, of) {
  const { store } = context.journal;
  const measured = () => isMeasuring(store) || store.stamp(["measurement", "care"]);
  return live(store, measured, () => asked(context, of));
}

function asked(context, of) {
  const place = element("div", {});
  ask(context, of, place);
  return place;
}

async function ask(context, of, place) {
  const { store, server } = context.journal;
  try {
    const day = of.day ?? lastDayIfOver(store, of);
    const { things, keptSince } = await thingsOf(store, server, of);
    redraw(place, live(store, ["look_at_answer", "planting", "planter", "cultivar"], () => parts(context, of, things, day)), asOf(keptSince));
  } catch (problem) {
    redraw(place, problemNote(problem, () => ask(context, of, place)));
  }
}

/** Without the server those of a planting are found in what is kept of its trial. */
async function thingsOf(store, server, of) {
  const ask = async (address) => {
    const { answer, keptSince } = await server.getDated(address);
    return { things: answer.things, keptSince };
  };
  try {
    return await ask(lookAtAddress(store, of));
  } catch (problem) {
    const trialId = store.get("planting", of.plantingId)?.fields.trial_id;
    if (!trialId || !(problem instanceof ServerUnreachable)) throw problem;
    const { things, keptSince } = await ask(lookAtAddress(store, { trialId }));
    return { things: things.filter((thing) => thing.planting_id === of.plantingId), keptSince };
  }
}

function parts(context, of, things, day) {
  const { store } = context.journal;
  const isTold = (thing) => (of.day || !answerTo(store, thing)) && !of.without?.includes(thing.rule);
  const open = things.filter(isTold);
  if (!open.length) return of.ifNothing ? element("p", { class: "quiet" }, of.ifNothing) : null;
  const rules = Object.keys(RULE_WORDS).filter((rule) => open.some((thing) => thing.rule === rule));
  return element(
    "section",
    { class: "look-at-things" },
    element("h2", {}, day ? `Look at, as of ${dayInWords(day)}` : "Look at today"),
    element(
      "ul",
      { class: "rows" },
      rules.map((rule) => ofOneRule(context, of, open.filter((thing) => thing.rule === rule))),
    ),
  );
}

function ofOneRule(context, of, things) {
  const rows = things.map((thing) => thingRow(context, of, thing));
  if (things.length <= FEW) return rows;
  const words = `${RULE_WORDS[things[0].rule]}: ${countInWords(things.length, "planting")}`;
  return element(
    "li",
    {},
    element(
      "details",
      { id: `look-at-${things[0].rule}` },
      element("summary", {}, words),
      element("ul", { class: "rows" }, rows),
    ),
  );
}

function thingRow(context, of, thing) {
  const { store } = context.journal;
  const known = describePlanting(store, thing.planting_id);
  const said = answerTo(store, thing);
  return element(
    "li",
    { class: "look-at-thing" },
    element("p", {}, !of.plantingId && [plantingLink(known), ": "], unbroken(thing.sentence)),
    element(
      "details",
      { id: `why-${thing.key}` },
      element("summary", {}, "Why"),
      element(
        "div",
        { class: "why" },
        evidencePhotos(store, thing),
        evidenceTable(thing),
        thing.evidence.length > 0 && copyTable("The numbers behind it", thing.copies),
        thing.others.length > 0 && otherExplanations(thing.others),
        thing.caution && element("p", {}, element("b", {}, "Mind: "), thing.caution),
      ),
    ),
    said ? element("p", { class: "quiet" }, ANSWERED[said]) : waysToAnswer(context, thing),
  );
}

const ANSWERED = { noted: "Noted with the planting.", dismissed: "Dismissed." };

const waysToAnswer = (context, thing) =>
  element(
    "div",
    { class: "ways" },
    button("Dismiss", () => answer(context, thing, "dismissed"), { id: `dismiss-${thing.key}` }),
    button("Note it", () => answer(context, thing, "noted"), { id: `note-${thing.key}` }),
  );

function evidenceTable({ evidence }) {
  if (!evidence.length) return null;
  return element(
    "table",
    { class: "evidence" },
    element("caption", { class: "unseen" }, "The numbers behind it"),
    element(
      "thead",
      {},
      element("tr", {}, ["Day", "Number", "Value (90 % interval)"].map((name) => element("th", { scope: "col" }, name))),
    ),
    element("tbody", {}, evidence.map(evidenceRow)),
  );
}

function evidenceRow(one) {
  const { value, interval } = evidenceInWords(one);
  return element(
    "tr",
    {},
    element("td", {}, one.on ? shortDayInWords(one.on) : ""),
    element("th", { scope: "row" }, one.words),
    element("td", {}, copyable(element("b", {}, value), one.words, one.quote), interval && ` (${interval})`),
  );
}

/** A number that was not measured from one photo has no interval: then none is shown. */
function evidenceInWords({ value, low, high, unit }) {
  if (unit === "share" && low !== null) return shareInWords({ value, low, high });
  if (unit === "share") return { value: `${Math.round(value * 100)} %`, interval: "" };
  const digits = unit === "CIEDE2000" ? 1 : 0;
  return { value: `${value.toFixed(digits)}${["days", "photos"].includes(unit) ? "" : ` ${unit}`}`, interval: "" };
}

function evidencePhotos(store, { evidence }) {
  const ids = [...new Set(evidence.flatMap(({ photos }) => photos))];
  const photos = ids.map((id) => store.get("photo", id)).filter(Boolean);
  if (!photos.length) return null;
  const alt = (photo) => `Photo of ${dayInWords(photo.fields.taken_at)}`;
  return element(
    "div",
    { class: "strip" },
    photos.map((photo) => link(`#/photos/${photo.id}`, {}, thumbnail(photo, alt(photo)))),
  );
}

const otherExplanations = (others) =>
  element(
    "div",
    {},
    element("p", { class: "quiet" }, "It may also be:"),
    element("ul", {}, others.map((words) => element("li", {}, words))),
  );

const answerTo = (store, thing) => store.get("look_at_answer", thing.key)?.fields.answer ?? null;

function answer(context, thing, given) {
  const { key: id, planting_id, rule, day, sentence } = thing;
  const kind = "look_at_answer";
  const fields = { planting_id, rule, day, answer: given, note: given === "noted" ? sentence : null };
  const says = given === "noted" ? "Noted with the planting." : "Dismissed, until there is newer evidence.";
  return settle(context, [{ kind, id, fields }], says, [{ kind, id, fields: { answer: null, note: null } }]);
}

/** What was noted of a planting, the newest first; null where nothing was. */
export function notedThings(context, plantingId) {
  const { store } = context.journal;
  const noted = store
    .all("look_at_answer")
    .filter(({ fields }) => fields.planting_id === plantingId && fields.answer === "noted")
    .sort((a, b) => b.fields.day.localeCompare(a.fields.day));
  if (!noted.length) return null;
  return element(
    "section",
    {},
    element("h3", {}, "Noted of it"),
    element("ul", { class: "rows" }, noted.map((one) => notedRow(context, one))),
  );
}

function notedRow(context, { id, fields }) {
  const change = (answer, note) => [{ kind: "look_at_answer", id, fields: { answer, note } }];
  const takeBack = () => settle(context, change(null, null), "Taken back.", change("noted", fields.note));
  return element(
    "li",
    {},
    element("p", {}, element("span", { class: "quiet" }, `${dayInWords(fields.day)}: `), fields.note),
    button("Take it back", takeBack, { id: `unnote-${id}` }),
  );
}
