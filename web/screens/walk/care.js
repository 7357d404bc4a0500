/** Care done on the spot, for this planting or for all; what is sprayed is named, with what must be thought of first. */

import { button, element, freshId, live, redraw } from "../dom.js";
import { newId } from "../../store/ids.js";
import { CARE_ON_THE_WALK, productsUsed } from "../../store/walk.js";
import { careDue } from "../../store/care_due.js";
import { sprayCautions } from "../care/cautions.js";
import { careInWords, dueInWords } from "./words.js";
import { capital } from "../../words.js";

export function carePart({ visit, told }) {
  const now = { forAll: false, spraying: false };
  const again = () => redraw(place, draw());
  const draw = () => [
    dueLine(visit),
    scope(now, again),
    actions(visit, told, now, again),
    sprayPanel(visit, told, now, again),
  ];
  const place = live(visit.store, ["care", "care_plan"], draw, { class: "visit-group" });
  return place;
}

function dueLine(visit) {
  const records = { plans: visit.store.all("care_plan"), care: visit.store.all("care") };
  const words = visit.planting ? dueInWords(careDue(records, visit.planting, visit.day)) : "";
  return element("p", { class: words ? "due" : "quiet" }, words || "Nothing is due.");
}

function scope(now, again) {
  const choose = (forAll) => {
    now.forAll = forAll;
    again();
  };
  const way = (words, forAll, id) => button(words, () => choose(forAll), { id, "aria-pressed": String(now.forAll === forAll) });
  return element(
    "div",
    { class: "halves", role: "group", "aria-label": "Care is noted for" },
    way("This planting", false, "care-this"),
    way("All of the trial", true, "care-all"),
  );
}

/** Care of today with the scope looked at: for this planting, or for all of the trial. */
const doneToday = (visit, action, forAll) =>
  visit.store
    .all("care")
    .filter(
      ({ fields }) =>
        fields.trial_id === visit.trialId &&
        fields.done_on === visit.day &&
        fields.action === action &&
        (fields.planting_id ?? null) === (forAll ? null : visit.plantingId),
    );

function actions(visit, told, now, again) {
  const flip = (action) => {
    if (action !== "sprayed" || doneToday(visit, action, now.forAll).length) return flipCare(visit, told, action, now.forAll);
    now.spraying = !now.spraying;
    again();
  };
  return element(
    "div",
    { class: "toggles", role: "group", "aria-label": "Care done" },
    CARE_ON_THE_WALK.map((action) => {
      const done = doneToday(visit, action, now.forAll);
      const product = done[0]?.fields.product;
      return button(capital(careInWords(action)) + (product ? ` (${product})` : ""), () => flip(action), {
        id: `care-${action}`,
        "aria-pressed": String(done.length > 0),
        "aria-expanded": action === "sprayed" ? String(now.spraying) : undefined,
      });
    }),
  );
}

function newCare(visit, action, forAll, product = null) {
  const fields = {
    trial_id: visit.trialId,
    planting_id: forAll ? null : visit.plantingId,
    visit_id: visit.id,
    done_on: visit.day,
    action,
    ...(product ? { product } : {}),
  };
  return { kind: "care", id: newId(), fields };
}

const noted = (action, forAll) => `Noted: ${careInWords(action)}${forAll ? ", for all of the trial" : ""}.`;

function flipCare(visit, told, action, forAll) {
  let says = "";
  const work = () => {
    const done = doneToday(visit, action, forAll);
    says = done.length ? `Taken back: ${careInWords(action)}.` : noted(action, forAll);
    const takenBack = done.map(({ kind, id }) => ({ kind, id, delete: true }));
    return visit.note(done.length ? takenBack : [newCare(visit, action, forAll)]);
  };
  return told.keep(work, () => says);
}

function sprayPanel(visit, told, now, again) {
  if (!now.spraying) return null;
  const id = freshId("product");
  const input = element("input", { id, type: "text", autocomplete: "off", maxlength: 120 });
  const note = async (product) => {
    const change = newCare(visit, "sprayed", now.forAll, product);
    if (!(await told.keep(() => visit.note([change]), noted("sprayed", now.forAll)))) return;
    now.spraying = false;
    again();
  };
  const used = productsUsed(visit.store, visit.trialId, "sprayed");
  return element(
    "div",
    { class: "panel" },
    sprayCautions(),
    used.length ? element("p", {}, "Sprayed with:") : null,
    element(
      "div",
      { class: "toggles" },
      used.slice(0, 6).map((product) => button(product, () => note(product))),
    ),
    element("div", { class: "field" }, element("label", { for: id }, used.length ? "Another product" : "Product"), input),
    button("Note that it was sprayed", () => note(input.value.trim() || null), { class: "wide-button", id: "note-sprayed" }),
  );
}
