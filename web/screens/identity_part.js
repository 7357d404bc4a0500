/** What one planting is: a doubt raised or resolved, each with a day and a word why, and what was thought when. */

import { button, element, live } from "./dom.js";
import { wrongDay } from "./day_that_was.js";
import { form } from "./form.js";
import { newId } from "../store/ids.js";
import { cultivarNamed, inDoubt, isInDoubt, itIs, takenBack, thoughtWhen } from "../store/identity.js";
import { localDay } from "../store/walk.js";
import { cultivarInWords, dayInWords } from "../words.js";
import { deleteWithUndo, sayWithUndo } from "./undo.js";

const ANOTHER = "another";
const NAMES = ["identity", "cultivar_id", "label_said", "looks_like"];

export function identityPart(context, plantingId) {
  const { store } = context.journal;
  const planting = () => store.get("planting", plantingId);
  const drawn = () => NAMES.map((name) => planting()?.fields[name]).join("\n") + store.all("cultivar").length;
  const history = () => planting() && historyList(context, planting());
  return element(
    "section",
    { id: "identity" },
    element("h2", {}, "What it is"),
    live(store, drawn, () => planting() && whatItIs(context, planting()), { class: "stack tight" }),
    live(store, ["identity_note", "planting", "cultivar"], history),
  );
}

function whatItIs(context, planting) {
  const doubtful = isInDoubt(planting);
  return [
    element("p", { class: "lead" }, nowInWords(context.journal.store, planting)),
    folded("say-what-it-is", doubtful ? "Say what it is" : "It is another", sayForm(context, planting), doubtful),
    doubtful ? null : folded("doubt-it", "Doubt it", doubtForm(context, planting)),
  ];
}

const folded = (id, words, node, open = false) => element("details", { id, open }, element("summary", {}, words), node);

function nowInWords(store, planting) {
  const name = cultivarInWords(store.get("cultivar", planting.fields.cultivar_id));
  if (!isInDoubt(planting)) return `${name}, confirmed.`;
  const { label_said: label, looks_like: like } = planting.fields;
  const why = [label && `the label said “${label}”`, like && `it looks like ${like}`].filter(Boolean).join("; ");
  return `In doubt${why && `: ${why}`}. It is entered as ${name}.`;
}

const dayAndWhy = [
  { name: "day", label: "Decided on", type: "day" },
  { name: "why", label: "Why", help: "A word is enough: bloom colour, a photo of the grower, the invoice" },
];

function sayForm(context, planting) {
  const { store } = context.journal;
  const isAnother = ({ cultivar_id: id }) => id === ANOTHER;
  const specs = [
    { name: "cultivar_id", label: "It is", options: cultivarChoices(store, planting) },
    { name: "genus", label: "Genus", showIf: isAnother },
    { name: "name", label: "Cultivar name", help: "Without quotes", showIf: isAnother },
    ...dayAndWhy,
  ];
  const genus = store.get("cultivar", planting.fields.cultivar_id)?.fields.genus ?? null;
  const likely = cultivarNamed(store, planting.fields.looks_like)?.id;
  const values = { cultivar_id: likely ?? "", genus, day: localDay(new Date()) };
  return inPage(form(specs, values, (typed) => saySo(context, planting, typed), { words: "This is what it is" }));
}

/** First what the label said (or, without its words, what the planting was entered as), then the others. */
function cultivarChoices(store, planting) {
  const labelled = cultivarNamed(store, planting.fields.label_said) ?? store.get("cultivar", planting.fields.cultivar_id);
  const others = store
    .all("cultivar")
    .filter(({ id }) => id !== labelled?.id)
    .map((cultivar) => [cultivar.id, cultivarInWords(cultivar)])
    .sort((a, b) => a[1].localeCompare(b[1]));
  const right = labelled && isInDoubt(planting) ? [[labelled.id, `The label was right: ${cultivarInWords(labelled)}`]] : [];
  return [["", "choose"], ...right, [ANOTHER, "Another, not in the list yet"], ...others];
}

async function saySo(context, planting, { cultivar_id: id, genus, name, day, why }) {
  if (!id) return [{ field: "cultivar_id", message: "Choose what it is." }];
  const wrong = wrongDay(day, { missing: "Say on which day this was decided.", plantedOn: planting.fields.planted_on });
  if (wrong) return [{ field: "day", message: wrong }];
  const { store } = context.journal;
  const made = id === ANOTHER ? { kind: "cultivar", id: newId(), fields: { genus, name } } : null;
  if (made && !(genus && name)) return [{ field: genus ? "name" : "genus", message: "This needs a few words." }];
  const cultivar = made ?? store.get("cultivar", id);
  const changes = itIs(store, planting, cultivar, { id: newId(), day, why });
  return keep(context, planting, made ? [made, ...changes] : changes, `It is ${cultivarInWords(cultivar)}. Every screen says so now.`);
}

function doubtForm(context, planting) {
  const specs = [{ name: "labelSaid", label: "The label said" }, { name: "looksLike", label: "It looks like" }, ...dayAndWhy];
  const values = { labelSaid: planting.fields.label_said, day: localDay(new Date()) };
  const save = (typed) => {
    const wrong = wrongDay(typed.day, { missing: "Say on which day the doubt came up.", plantedOn: planting.fields.planted_on });
    if (wrong) return [{ field: "day", message: wrong }];
    const changes = inDoubt(context.journal.store, planting, { id: newId(), ...typed });
    return keep(context, planting, changes, "Noted as doubtful.");
  };
  return inPage(form(specs, values, async (typed) => save(typed), { words: "Note the doubt" }));
}

function inPage(node) {
  node.classList.add("in-page");
  return node;
}

/** What was refused is said in a notice too: this form is drawn anew once the planting is seen as changed. */
async function keep(context, planting, changes, words) {
  const refused = await context.journal.applyChanges(changes);
  if (refused.length) context.notices.say([...new Set(refused.map(({ message }) => message))].join(" "));
  else sayWithUndo(context, words, takenBack(planting, changes));
  return refused;
}

function historyList(context, planting) {
  const { store } = context.journal;
  const earlier = store.get("cultivar", planting.fields.cultivar_id)?.fields.earlier_names ?? [];
  return element(
    "div",
    { class: "stack tight" },
    element("h3", {}, "What was thought when"),
    element(
      "ol",
      { class: "rows thought" },
      thoughtWhen(store, planting).map(({ day, words, note, record }) =>
        element(
          "li",
          {},
          element("span", { class: "thought-words" }, element("b", {}, dayInWords(day)), `: ${words}`, note && element("span", { class: "quiet" }, ` ${note}`)),
          record && changeNote(context, record),
        ),
      ),
    ),
    earlier.length ? element("p", { class: "quiet" }, `The cultivar itself was called ${earlier.join(", ")} before.`) : null,
  );
}

/** The day and the word why of a note, and the way to delete it; what the planting is stays as it is. */
function changeNote(context, { kind, id, fields }) {
  const on = dayInWords(fields.decided_on);
  const was = { decided_on: fields.decided_on, note: fields.note ?? null };
  const specs = [
    { name: "decided_on", label: "Decided on", type: "day" },
    { name: "note", label: "Why" },
  ];
  const save = async (typed) => {
    const plantedOn = context.journal.store.get("planting", fields.planting_id)?.fields.planted_on;
    const wrong = wrongDay(typed.decided_on, { missing: "Say on which day this was decided.", plantedOn });
    if (wrong) return [{ field: "decided_on", message: wrong }];
    const refused = await context.journal.applyChanges([{ kind, id, fields: typed }]);
    if (!refused.length) sayWithUndo(context, "The note is changed.", [{ kind, id, fields: was }]);
    return refused;
  };
  const remove = () => deleteWithUndo(context, [{ kind, id }], `The note of ${on} is deleted. What the planting is stays as it is.`);
  const more = [button("Delete the note", remove, { "aria-label": `Delete the note of ${on}`, id: `delete-${id}` })];
  const node = folded(`change-${id}`, "Change", inPage(form(specs, was, save, { words: "Save the note", more })));
  node.querySelector("summary").setAttribute("aria-label", `Change the note of ${on}`);
  return node;
}
