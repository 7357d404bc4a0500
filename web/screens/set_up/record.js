/** One record of the set-up, new or to be changed: trial, cultivar, planter or planting. */

import { button, element, link } from "../dom.js";
import { form } from "../form.js";
import { newId } from "../../store/ids.js";
import { noteOfEdit } from "../../store/identity.js";
import { chosenTrial, plantersInWalkOrder } from "../../store/queries.js";
import { localDay } from "../../store/walk.js";
import { cultivarInWords } from "../../words.js";
import { fieldsOf } from "./fields.js";
import { confirmed } from "./confirm.js";
import { sayDeleted } from "../undo.js";
import { notHere } from "../not_here.js";

const KIND_OF = { trials: "trial", cultivars: "cultivar", planters: "planter", plantings: "planting" };

export function recordScreen(context, { kind: plural, id, trial }) {
  const kind = KIND_OF[plural];
  const { store } = context.journal;
  const record = kind && id !== "new" ? store.get(kind, id) : null;
  if (!kind || (id !== "new" && !record)) return notHere("This is not in the journal any more", "#/set-up", "To Set-up");
  const trialId = record?.fields.trial_id ?? trial ?? chosenTrial(store)?.id;
  const values = record?.fields ?? startingValues(store, kind, trialId);
  const lists = { planters: planterOptions(store, trialId), cultivars: cultivarOptions(store) };
  const specs = fieldsOf(kind, lists, context.units.now);
  const save = (typed) =>
    saveRecord(context, { kind, record, fixed: fixedFields(kind, values), typed, trialId });
  const remove =
    record &&
    button(`Delete this ${kind}`, () => deleteRecord(context, record, trialId), { id: "delete-record" });
  const title = record ? `Change ${kind}` : `New ${kind}`;
  return {
    title,
    nodes: [
      element("h1", {}, title),
      form(specs, values, save, {
        words: record ? "Save" : `Add the ${kind}`,
        more: [link(afterwards(kind, trialId), { class: "secondary" }, "Cancel")],
      }),
      remove && element("p", {}, remove),
    ],
  };
}

function startingValues(store, kind, trialId) {
  const last = plantersInWalkOrder(store, trialId).at(-1)?.fields.walk_order ?? 0;
  return {
    trial: { year: new Date().getFullYear() },
    cultivar: {},
    planter: { trial_id: trialId, planter_kind: "trough", walk_order: last + 1 },
    planting: { trial_id: trialId, identity: "confirmed" },
  }[kind];
}

/** What the form does not show but a new record needs. */
function fixedFields(kind, values) {
  if (kind === "planter") return { trial_id: values.trial_id, walk_order: values.walk_order };
  return kind === "planting" ? { trial_id: values.trial_id } : {};
}

async function saveRecord({ journal, notices, go }, { kind, record, fixed, typed, trialId }) {
  const before = record?.fields ?? {};
  const fields = record ? changedFields(before, typed) : { ...fixed, ...typed };
  const id = record?.id ?? newId();
  if (Object.keys(fields).length) {
    const refused = await journal.applyChanges([{ kind, id, fields }]);
    if (refused.length) return refused;
    if (kind === "planting" && record) await noteIdentity(journal, record, fields);
  }
  notices.say("Saved.");
  go(afterwards(kind, kind === "trial" ? id : trialId));
  return [];
}

/** What the planting was thought to be until now stays told on its screen. */
async function noteIdentity(journal, before, edit) {
  const after = { ...before, fields: { ...before.fields, ...edit } };
  const note = noteOfEdit(journal.store, before, after, { id: newId(), day: localDay(new Date()) });
  if (note) await journal.note([note]);
}

/** Only what was changed is sent, so that another person's edit of another field is not undone. */
function changedFields(before, typed) {
  const same = (a, b) => JSON.stringify(a ?? null) === JSON.stringify(b ?? null) || (b === false && !a);
  return Object.fromEntries(Object.entries(typed).filter(([name, value]) => !same(before[name], value)));
}

async function deleteRecord({ journal, notices, go }, record, trialId) {
  const sure = await confirmed(
    `Delete this ${record.kind}?`,
    "It goes from every list and can be put back right after. Photos stay in the journal.",
    "Delete",
  );
  if (!sure) return;
  try {
    const refused = await journal.applyChanges([{ kind: record.kind, id: record.id, delete: true }]);
    if (refused.length) return notices.say(refused.map(({ message }) => message).join(" "));
    sayDeleted({ journal, notices }, [record], `This ${record.kind} is deleted.`);
    go(afterwards(record.kind, record.kind === "trial" ? null : trialId));
  } catch (problem) {
    notices.say(problem.message);
  }
}

function afterwards(kind, trialId) {
  if (kind === "cultivar") return "#/set-up/cultivars";
  return kind === "planter" || kind === "planting" ? `#/set-up/trials/${trialId}/planters` : "#/set-up";
}

const planterOptions = (store, trialId) =>
  plantersInWalkOrder(store, trialId).map((planter) => [planter.id, planter.fields.name]);

const cultivarOptions = (store) =>
  store
    .all("cultivar")
    .map((cultivar) => [cultivar.id, cultivarInWords(cultivar)])
    .sort((a, b) => a[1].localeCompare(b[1]));
