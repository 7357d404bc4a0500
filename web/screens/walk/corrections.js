/** Changing on the spot what turned out wrong: how many plants live, what they are, which card stands there. */

import { button, element, freshId, live, redraw } from "../dom.js";
import { wrongDay } from "../day_that_was.js";
import { newId } from "../../store/ids.js";
import { doubtOfDay, inDoubt, isInDoubt, itIs } from "../../store/identity.js";
import { livingPlants, plantingOfCard } from "../../store/walk.js";
import { countInWords } from "../../words.js";
import { placeInWords } from "./words.js";

export function correctionsPart({ visit, told }, scanner) {
  return element(
    "details",
    { id: "corrections" },
    element("summary", {}, "Change what turned out wrong"),
    element(
      "div",
      { class: "corrections" },
      section("Number of plants", plantsNow(visit, told)),
      section("Identity", live(visit.store, ["planting"], () => identity(visit, told))),
      section("Card", cardPart(visit, told, scanner)),
    ),
  );
}

function plantsNow(visit, told) {
  const dayId = freshId("counted");
  const whyId = freshId("why");
  const day = element("input", { id: dayId, type: "date", max: visit.day, value: visit.day });
  const why = element("input", { id: whyId, type: "text", autocomplete: "off", maxlength: 2000 });
  const problem = element("p", { class: "field-problem", id: freshId("problem"), "aria-live": "polite" });
  day.setAttribute("aria-describedby", problem.id);
  const count = async (plants, reason) => {
    const countedOn = day.value || visit.day;
    problem.textContent = wrongDay(countedOn, { plantedOn: visit.planting.fields.planted_on }) ?? "";
    if (problem.textContent) return day.focus();
    const fields = { planting_id: visit.plantingId, counted_on: countedOn, plants, reason };
    if (why.value.trim()) fields.note = why.value.trim();
    const noted = await told.keep(
      () => visit.note([{ kind: "plant_count", id: newId(), fields }]),
      `${countInWords(plants, "plant")} living, noted: ${reason}.`,
    );
    if (noted) why.value = "";
  };
  const draw = () => {
    if (!visit.planting) return null;
    const living = livingPlants(visit.store, visit.planting);
    const words = living === null ? "How many live was never said." : `${countInWords(living, "plant")} living now.`;
    return [element("p", {}, words), countButtons(living, count)];
  };
  return element(
    "div",
    { class: "visit-group" },
    live(visit.store, ["plant_count", "planting"], draw, { class: "visit-group" }),
    field(dayId, "When", day),
    problem,
    field(whyId, "Why, if known", why),
  );
}

function countButtons(living, count) {
  if (living === null)
    return element(
      "div",
      { class: "numbers-row", role: "group", "aria-label": "Plants living now" },
      Array.from({ length: 12 }, (_, at) => button(String(at + 1), () => count(at + 1, "counted again"))),
    );
  return element(
    "div",
    { class: "toggles" },
    button("One died", () => count(living - 1, "died"), { id: "one-died", disabled: living < 1 }),
    button("One was lifted", () => count(living - 1, "lifted for elsewhere"), { id: "one-lifted", disabled: living < 1 }),
    button("One was added", () => count(living + 1, "added"), { id: "one-added" }),
    button("One fewer counted", () => count(living - 1, "counted again"), { id: "one-fewer", disabled: living < 1 }),
  );
}

function identity(visit, told) {
  if (!visit.planting) return null;
  const { label_said: said, looks_like: like } = visit.planting.fields;
  const isDoubtful = isInDoubt(visit.planting);
  const flip = () =>
    told.keep(
      () => visit.note(isDoubtful ? sureAgain(visit) : doubted(visit)),
      isDoubtful ? "Identity confirmed." : "Identity noted as doubtful.",
    );
  const line = (name, words, value, id = freshId(name)) =>
    field(id, words, element("input", {
      id, type: "text", autocomplete: "off", maxlength: 120, value: value ?? "",
      onchange: (event) => told.keep(() => visit.note(sayWhy(visit, { [name]: event.target.value.trim() || null })), "Saved on this phone."),
    })); // prettier-ignore
  return element(
    "div",
    { class: "visit-group" },
    button(isDoubtful ? "Identity is doubtful" : "Doubt the identity", flip, {
      id: "doubt",
      "aria-pressed": String(isDoubtful),
      class: "wide-button",
    }),
    isDoubtful ? [line("label_said", "The label said", said), line("looks_like", "It looks like", like)] : null,
  );
}

function doubted({ store, planting, day }) {
  const { label_said: labelSaid, looks_like: looksLike } = planting.fields;
  return inDoubt(store, planting, { id: newId(), day, labelSaid, looksLike });
}

/** A doubt of the same day is taken back as if it had never been; an older one is resolved, and stays told. */
function sureAgain({ store, planting, day }) {
  const own = doubtOfDay(store, planting.id, day);
  if (!own) return itIs(store, planting, store.get("cultivar", planting.fields.cultivar_id), { id: newId(), day });
  return [
    { kind: "planting", id: planting.id, fields: { identity: "confirmed" } },
    { kind: own.kind, id: own.id, delete: true },
  ];
}

/** What is said of the doubt stands at the planting, and in the note of the day on which it was raised. */
function sayWhy({ store, planting, day }, fields) {
  const own = doubtOfDay(store, planting.id, day);
  const said = "looks_like" in fields ? { says: fields.looks_like } : fields;
  return [
    { kind: "planting", id: planting.id, fields },
    ...(own ? [{ kind: own.kind, id: own.id, fields: said }] : []),
  ];
}

/** @param {{scan: () => Promise<string>}} scanner reads the next card that the camera sees */
function cardPart(visit, told, scanner) {
  const id = freshId("card");
  const said = element("p", { class: "field-problem", role: "alert" });
  const input = element("input", { id, type: "text", autocomplete: "off", autocapitalize: "characters", maxlength: 12 });
  const give = async (typed) => {
    const code = normalCardCode(typed);
    said.textContent = whyNot(visit, code);
    if (said.textContent) return;
    const change = { kind: "planting", id: visit.plantingId, fields: { card_code: code } };
    if (await told.keep(() => visit.note([change]), `The card ${code} now names ${placeInWords(visit.store, visit.planting)}.`))
      input.value = "";
  };
  const scanned = element("div", { class: "visit-group" });
  const scan = async () => {
    redraw(scanned, element("p", { role: "status" }, "Hold the new card before the camera …"));
    try {
      const code = await scanner.scan();
      const use = () => (redraw(scanned), give(code));
      redraw(scanned, button(`Give ${code} to this planting`, use, { class: "strong wide-button", id: "give-card" }));
    } catch (problem) {
      redraw(scanned, element("p", { role: "status" }, problem.message));
    }
  };
  return element(
    "div",
    { class: "visit-group" },
    live(visit.store, ["planting"], () => element("p", {}, `Card: ${visit.planting?.fields.card_code ?? "none"}`)),
    button("Scan a new card", scan, { id: "scan-card", class: "wide-button" }),
    scanned,
    field(id, "Or type its code", input),
    said,
    button("Give this card to the planting", () => give(input.value), { id: "type-card", class: "wide-button" }),
  );
}

function whyNot(visit, code) {
  if (!code) return "A card code looks like TAG-7K3Q9M: TAG- and six digits or capitals. Nothing was changed.";
  const other = plantingOfCard(visit.store, code, visit.day);
  if (!other || other.id === visit.plantingId) return "";
  const there = placeInWords(visit.store, other);
  return `The card ${code} stands at ${there}. Give ${there} another card first; nothing was changed.`;
}

/** As the server reads a typed code: capitals, O as 0, I and L as 1, the prefix added; null when it is none. */
export function normalCardCode(typed) {
  const bare = typed.trim().toUpperCase().replace(/^TAG-?/, "").replace(/[ -]/g, "");
  const code = `TAG-${bare.replaceAll("O", "0").replace(/[IL]/g, "1")}`;
  return /^TAG-[0-9A-HJKMNP-TV-Z]{6}$/.test(code) ? code : null;
}

const section = (title, node) => element("section", {}, element("h3", {}, title), node);

const field = (id, words, input) => element("div", { class: "field" }, element("label", { for: id }, words), input);
