/** Planned care put together for lists: what is due, what is planned, for whom. Pure: the day comes in. */

import { careDue } from "./care_due.js";
import { plantingsOnWalk } from "./walk.js";
import { plantingsInWalkOrder } from "./queries.js";
import { daysBetween } from "../words.js";

const DAY_MS = 86400000;

export const dayAfter = (day, days) => new Date(Date.parse(`${day}T00:00:00Z`) + days * DAY_MS).toISOString().slice(0, 10);

/**
 * What is due at the plantings of a trial, by what is to be done and with what, the longest due first.
 *
 * @returns {{action: string, product: string | null, dueOn: string, entries: {planting: Object, due: Object}[]}[]}
 */
export function dueByTask(store, trialId, day) {
  const tasks = new Map();
  for (const { planting, due } of dueAtPlantings(store, trialId, day)) {
    const key = `${due.action} ${due.product ?? ""}`;
    if (!tasks.has(key)) tasks.set(key, { action: due.action, product: due.product, dueOn: due.dueOn, entries: [] });
    const task = tasks.get(key);
    task.entries.push({ planting, due });
    if (due.dueOn < task.dueOn) task.dueOn = due.dueOn;
  }
  return [...tasks.values()].sort((a, b) => a.dueOn.localeCompare(b.dueOn) || a.action.localeCompare(b.action));
}

/** In walking order. Care is sorted by planting once, so that a large journal is read through only once. */
function dueAtPlantings(store, trialId, day) {
  const plans = store.all("care_plan").filter(({ fields }) => fields.trial_id === trialId);
  if (!plans.length) return [];
  const care = new Map();
  for (const done of store.all("care")) {
    const whom = done.fields.planting_id ?? null;
    if (!care.has(whom)) care.set(whom, []);
    care.get(whom).push(done);
  }
  return plantingsOnWalk(store, trialId, day).flatMap((planting) => {
    const own = [...(care.get(planting.id) ?? []), ...(care.get(null) ?? [])];
    return careDue({ plans, care: own }, planting, day).map((due) => ({ planting, due }));
  });
}

/** What becomes due in the days after `day`, at plantings where it is not due yet. */
export function dueSoon(store, trialId, day, days) {
  return dueByTask(store, trialId, dayAfter(day, days))
    .map((task) => ({ ...task, entries: task.entries.filter(({ due }) => due.dueOn > day) }))
    .filter(({ entries }) => entries.length)
    .map((task) => ({ ...task, dueOn: task.entries.map(({ due }) => due.dueOn).sort()[0] }));
}

/** Groups that a person cares for together: each genus and each kind of planter with at least two and not all of them. */
export function groupsOf(store, plantings) {
  const groups = new Map();
  const add = (by, name, planting) => {
    if (!name) return;
    const key = `${by} ${name}`;
    if (!groups.has(key)) groups.set(key, { by, name, plantings: [] });
    groups.get(key).plantings.push(planting);
  };
  for (const planting of plantings) {
    add("genus", store.get("cultivar", planting.fields.cultivar_id)?.fields.genus, planting);
    add("planter", store.get("planter", planting.fields.planter_id)?.fields.planter_kind, planting);
  }
  return [...groups.values()].filter(({ plantings: some }) => some.length > 1 && some.length < plantings.length);
}

const SAME_IN_A_PLAN = ["action", "every_days", "begins_on", "ends_on", "product", "note"];

/** Plans of a trial that differ by their planting alone stand together. @returns {{plans: Object[], fields: Object}[]} */
export function plansTogether(store, trialId) {
  const together = new Map();
  for (const plan of store.all("care_plan").filter(({ fields }) => fields.trial_id === trialId)) {
    const forAll = !plan.fields.planting_id;
    const key = JSON.stringify([forAll, ...SAME_IN_A_PLAN.map((name) => plan.fields[name] ?? null)]);
    if (!together.has(key)) together.set(key, { plans: [], fields: plan.fields, forAll });
    together.get(key).plans.push(plan);
  }
  return [...together.values()].sort((a, b) => a.fields.action.localeCompare(b.fields.action));
}

/** The plantings of the trial that are not over, in walking order: those that a plan may be for. */
export function plantingsToPlanFor(store, trialId, day) {
  return plantingsInWalkOrder(store, trialId).filter(({ fields }) => !fields.removed_on || fields.removed_on >= day);
}

/** Trials with something standing on the day, the latest first. */
export function trialsStanding(store, day) {
  return store
    .all("trial")
    .filter((trial) => plantingsOnWalk(store, trial.id, day).length)
    .sort((a, b) => (b.fields.year ?? 0) - (a.fields.year ?? 0));
}

export const overdueDays = ({ dueOn }, day) => Math.max(0, daysBetween(dueOn, day));

/** A season of which nothing was noted for longer is over, though nobody has said so. */
const QUIET_DAYS = 42;

/**
 * The last day of which anything is known of a trial (planted, photographed, visited, cared for), where that is so long
 * ago that its care is no longer asked for; else null.
 */
export function quietSince(store, trialId, day) {
  const own = new Map();
  for (const { id, fields } of store.all("planting")) if (fields.trial_id === trialId) own.set(id, fields.planted_on ?? "");
  let last = [...own.values()].filter((planted) => planted <= day).sort().at(-1) ?? null;
  const seen = (on) => {
    if (on && on <= day && (!last || on > last)) last = on;
  };
  for (const { fields } of store.all("photo")) if (own.has(fields.planting_id)) seen(fields.taken_at?.slice(0, 10));
  for (const { fields } of store.all("visit")) if (own.has(fields.planting_id)) seen(fields.visited_on);
  for (const { fields } of store.all("care")) if (fields.trial_id === trialId) seen(fields.done_on);
  return last && daysBetween(last, day) > QUIET_DAYS ? last : null;
}

