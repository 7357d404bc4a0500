/** Which planned care is due; the same rule as on the server, held to it by the same table of cases. Pure. */

import { daysBetween } from "../words.js";

const DAY_MS = 86400000;

const daysAfter = (day, days) =>
  new Date(Date.parse(`${day}T00:00:00Z`) + days * DAY_MS).toISOString().slice(0, 10);

const laterOf = (a, b) => (a && a > b ? a : b);

/**
 * What is due or overdue at one planting on a day, the longest due first; at most one of each action.
 *
 * @param {{plans: Object[], care: Object[]}} records care_plan and care
 * @param {Object} planting record @param {string} day
 * @returns {{action: string, planId: string, product: string | null, dueOn: string, overdueDays: number, lastDoneOn: string | null}[]}
 */
export function careDue({ plans, care }, planting, day) {
  if (!isPlanted(planting.fields, day)) return [];
  const first = new Map();
  for (const plan of plansFor(planting, plans, day)) {
    const { action, product } = plan.fields;
    const lastDoneOn = lastDone(action, planting, care, day);
    const dueOn = dueOnDay(plan.fields, planting.fields.planted_on, lastDoneOn);
    const known = first.get(action);
    if (dueOn > day || (known && known.dueOn <= dueOn)) continue;
    const overdueDays = daysBetween(dueOn, day);
    first.set(action, { action, planId: plan.id, product: product ?? null, dueOn, overdueDays, lastDoneOn });
  }
  return [...first.values()].sort((a, b) => order(a.dueOn, b.dueOn) || order(a.action, b.action));
}

const order = (a, b) => (a < b ? -1 : Number(a > b));

const isPlanted = ({ planted_on: planted, removed_on: removed }, day) =>
  Boolean(planted) && planted <= day && (!removed || day <= removed);

/** Its own plans, and those for all of the trial whose action it has no plan of its own for. */
function plansFor(planting, plans, day) {
  const inForce = plans.filter(
    ({ fields: { begins_on: begins, ends_on: ends } }) => (!begins || begins <= day) && (!ends || day <= ends),
  );
  const own = inForce.filter(({ fields }) => fields.planting_id === planting.id);
  const planned = new Set(own.map(({ fields }) => fields.action));
  const forAll = inForce.filter(
    ({ fields }) =>
      !fields.planting_id && fields.trial_id === planting.fields.trial_id && !planned.has(fields.action),
  );
  return [...own, ...forAll];
}

/** At the planting or at all of its trial, since it was planted. */
function lastDone(action, planting, care, day) {
  const { trial_id: trial, planted_on: planted } = planting.fields;
  const days = care
    .map(({ fields }) => fields)
    .filter((done) => done.action === action && done.trial_id === trial)
    .filter((done) => !done.planting_id || done.planting_id === planting.id)
    .map((done) => done.done_on)
    .filter((done) => planted <= done && done <= day);
  return days.sort().at(-1) ?? null;
}

function dueOnDay({ begins_on: begins, every_days: every }, plantedOn, lastDoneOn) {
  if (!lastDoneOn && begins) return laterOf(begins, plantedOn);
  return laterOf(begins, daysAfter(lastDoneOn ?? plantedOn, every));
}
