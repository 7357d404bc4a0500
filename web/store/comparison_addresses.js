/** Where the server answers comparisons: what the screens ask for, and what of it is brought ahead. Pure. */

import { daysBetween } from "../words.js";
import { photosByPlanting } from "./queries.js";

/** What a comparison is of before a person chooses. */
export const FIRST_NUMBER = "bloom_cover";
export const FIRST_WEEK = "6";
export const CHOICES = "/api/compare/choices";
export const SIDE_BY_SIDE = "/api/compare/side-by-side";

/** The latest days and weeks of a trial at which it is brought ahead. */
const LATEST_MOMENTS = 2;
/** Cultivars in places, years and tries, of which the first number is brought ahead. */
const MOST_WAYS = 40;
/** The latest photo is held against the one taken about so long before it. */
const FORTNIGHT_DAYS = 14;
/** Plantings whose photos are brought laid over each other: a pair takes the server a second, and half a megabyte. */
const MOST_LAID_OVER = 30;

/**
 * @typedef {{by: string, id: string}} What a trial (by "cultivar") or a cultivar (by one of the ways)
 * @typedef {{of: string, week?: string | null, on?: string | null, draw?: string[]}} Asked
 * @param {What} what @param {Asked} asked
 */
export function sideBySideQuery({ by, id }, { of, week, on, draw = [] }) {
  const query = new URLSearchParams({ by, of, [by === "cultivar" ? "trial" : "cultivar"]: id });
  if (on) query.set("on", on);
  else if (week) query.set("week", week);
  for (const key of draw) query.append("draw", key);
  return query;
}

export const sideBySideAddress = (what, asked, width) => `${SIDE_BY_SIDE}?${sideBySideQuery(what, asked)}&width=${width}`;

/** What was asked, read off the address of a kept answer about `what`; null where it is about something else. @returns {Asked | null} */
export function askedIn(address, { by, id }) {
  const { pathname, searchParams: query } = new URL(address, "http://journal");
  const isIt = query.get("by") === by && query.get(by === "cultivar" ? "trial" : "cultivar") === id;
  if (pathname !== SIDE_BY_SIDE || !isIt) return null;
  return { of: query.get("of"), week: query.get("week"), on: query.get("on"), draw: query.getAll("draw") };
}

/**
 * Comparisons of a trial and of the cultivars that stand in it, as the screen opens with them and at its latest moments.
 *
 * @param {Object} store @param {string} trialId
 * @param {{ways?: Object<string, {id: string}[]>, numbers?: {name: string, then: boolean}[]}} choices as the server says
 */
export function comparisonAddresses(store, trialId, { ways = {}, numbers = [] }, width) {
  const plantings = store.all("planting").filter(({ fields }) => fields.trial_id === trialId);
  const cultivars = new Set(plantings.map(({ fields }) => fields.cultivar_id));
  const first = { of: FIRST_NUMBER, week: FIRST_WEEK };
  const overSeason = numbers.filter(({ then }) => !then).map(({ name }) => ({ of: name }));
  const then = numbers.filter(({ then }) => then).map(({ name }) => name);
  const moments = [{ week: FIRST_WEEK }, ...latestMoments(store, plantings)];
  const ofTrial = cultivars.size > 1 ? [first, ...moments.flatMap((moment) => then.map((of) => ({ of, ...moment }))), ...overSeason] : [];
  const ofCultivars = Object.entries(ways)
    .flatMap(([by, those]) => those.filter(({ id }) => cultivars.has(id)).map(({ id }) => ({ by, id })))
    .slice(0, MOST_WAYS);
  const address = (what) => (asked) => sideBySideAddress(what, asked, width);
  return [
    ...new Set([
      ...ofTrial.map(address({ by: "cultivar", id: trialId })),
      ...ofCultivars.flatMap((what) => [first, ...overSeason].map(address(what))),
    ]),
  ];
}

/** The latest days with a photo, and the week of the last one. */
function latestMoments(store, plantings) {
  const photos = photosByPlanting(store);
  const taken = plantings.flatMap(({ id, fields }) =>
    (photos.get(id) ?? []).filter(isThere).map((photo) => ({ day: photo.fields.taken_at.slice(0, 10), planted: fields.planted_on })),
  );
  const days = [...new Set(taken.map(({ day }) => day))].sort().slice(-LATEST_MOMENTS);
  const weeks = taken.map(({ day, planted }) => Math.floor(daysBetween(planted, day) / 7));
  return [...days.reverse().map((on) => ({ on })), ...(weeks.length ? [{ week: String(Math.max(...weeks)) }] : [])];
}

const isThere = (photo) => photo.fields.taken_at && !photo.fields.waiting;

/** Of each planting the latest photo against the one a fortnight before and against the first. @returns {{first: Object, second: Object}[]} */
export function pairsOfPlanting(photos) {
  const there = photos.filter(isThere);
  const second = there.at(-1);
  const earlier = there.slice(0, -1);
  if (!earlier.length) return [];
  const apart = (photo) => Math.abs(daysBetween(photo.fields.taken_at, second.fields.taken_at) - FORTNIGHT_DAYS);
  const fortnight = earlier.reduce((best, photo) => (apart(photo) <= apart(best) ? photo : best));
  return [...new Set([fortnight, earlier[0]])].map((first) => ({ first, second }));
}

export const datesAddress = (query) => `/api/compare/dates?${query}`;
export const registrationAddress = (query) => `/api/compare/registration?${query}`;
export const registeredAddress = (query) => `/api/compare/registered?${query}`;
export const pairQuery = ({ first, second }) => `first=${first.id}&second=${second.id}`;

/**
 * What changed in each planting's pairs; of the first plantings also how the photos lie on each other, the photo laid over.
 *
 * @param {Object} store @param {Object[]} plantings the most wanted first
 * @returns {{numbers: {planting: string, address: string}[], laidOver: {planting: string, address: string}[]}}
 */
export function pairAddresses(store, plantings) {
  const photos = photosByPlanting(store);
  const pairs = plantings.map(({ id }) => pairsOfPlanting(photos.get(id) ?? []).map((pair) => ({ planting: id, ...pair })));
  const one = (pair, address) => ({ planting: pair.planting, address });
  return {
    numbers: pairs.flat().map((pair) => one(pair, datesAddress(pairQuery(pair)))),
    laidOver: pairs
      .slice(0, MOST_LAID_OVER)
      .flat()
      .flatMap((pair) => [registrationAddress, registeredAddress].map((address) => one(pair, address(pairQuery(pair))))),
  };
}

/** The earlier photos of those pairs, which lie under the later ones. */
export function photosUnder(store, plantings) {
  const photos = photosByPlanting(store);
  return plantings.slice(0, MOST_LAID_OVER).flatMap(({ id }) => pairsOfPlanting(photos.get(id) ?? []).map(({ first }) => first));
}
