/** Plantings in walking order or by genus, each with its last photo and its leading numbers. */

import { element, freshId, link, live, redraw } from "./dom.js";
import {
  chosenTrial,
  currentMeasurements,
  describePlanting,
  photosByPlanting,
  plantingsInWalkOrder,
} from "../store/queries.js";
import { countInWords, shareInWords, shortDayInWords, trialInWords, weekInWords } from "../words.js";
import { chooser } from "./chooser.js";
import { cultivarName, doubtMark } from "./names.js";
import { isUsable } from "./numbers.js";
import { thumbnail } from "./picture.js";
import { headed, wayToSearch } from "./way_to_search.js";
import { fits } from "./choose_planting.js";

/** Instead of the id of one trial. */
const ALL = "all";

const KINDS = ["planting", "planter", "cultivar", "photo", "measurement", "trial"];

/** How the list was last looked at; kept while the app is open, so that coming back finds it as it was. */
const looking = { words: "", order: "walk", trial: null };

export function plantingsScreen({ journal }) {
  const { store } = journal;
  const list = live(store, KINDS, () => plantingList(store));
  const again = () => redraw(list, plantingList(store));
  return {
    title: "Plantings",
    wide: true,
    nodes: [
      headed("Plantings", wayToSearch()),
      store.all("planting").length ? ways(store, again) : null,
      list,
    ],
  };
}

function ways(store, again) {
  const trials = store.all("trial");
  return element(
    "div",
    { class: "filters" },
    labelled(
      "Find in this list",
      element("input", {
        type: "search",
        value: looking.words,
        oninput: (event) => keep("words", event, again),
      }),
    ),
    labelled(
      "Order",
      chooser(
        [
          ["walk", "Walking order"],
          ["genus", "By genus"],
        ],
        looking.order,
        (event) => keep("order", event, again),
      ),
    ),
    trials.length > 1
      ? labelled(
          "Trial",
          chooser(
            [...latestFirst(trials).map((trial) => [trial.id, trialInWords(trial)]), [ALL, "All trials"]],
            looking.trial === ALL ? ALL : chosenTrial(store, looking.trial).id,
            (event) => keep("trial", event, again),
          ),
          "whole",
        )
      : null,
  );
}

const latestFirst = (trials) => trials.sort((a, b) => (b.fields.year ?? 0) - (a.fields.year ?? 0));

function keep(what, event, again) {
  looking[what] = event.target.value;
  again();
}

function labelled(words, input, look = "") {
  input.id = freshId("filter");
  return element("div", { class: look }, element("label", { for: input.id }, words), input);
}

function plantingList(store) {
  const trial = chosenTrial(store, looking.trial);
  const trials = looking.trial === ALL ? latestFirst(store.all("trial")) : [trial];
  const plantings = trials.flatMap((one) =>
    plantingsInWalkOrder(store, one?.id).map((planting) => describePlanting(store, planting.id)),
  );
  if (!plantings.length) {
    return element(
      "p",
      {},
      "No plantings yet. ",
      trial
        ? link(`#/set-up/trials/${trial.id}/list`, {}, "Enter the plantings")
        : link("#/set-up", {}, "Set up a trial"),
    );
  }
  const found = plantings.filter((known) => fits(known, looking.words));
  if (!found.length) return element("p", { class: "quiet" }, "No planting fits these words.");
  const show = shower(store);
  if (looking.order === "walk") return element("ul", { class: "plantings" }, found.map(show));
  const genera = byGenus(found);
  return [...genera.keys()]
    .sort()
    .map((genus) => [
      element(
        "h2",
        {},
        element("i", {}, genus),
        element("span", { class: "quiet" }, ` ${countInWords(genera.get(genus).length, "planting")}`),
      ),
      element("ul", { class: "plantings" }, genera.get(genus).map(show)),
    ]);
}

function byGenus(plantings) {
  const genera = new Map();
  for (const known of plantings) {
    const genus = known.cultivar?.fields.genus || "Genus not known";
    genera.set(genus, [...(genera.get(genus) ?? []), known]);
  }
  return genera;
}

/** A function that draws one row, with the photos and measurements looked up once for all rows. */
function shower(store) {
  const photos = photosByPlanting(store);
  const measurements = currentMeasurements(store);
  return (known) => {
    const taken = photos.get(known.planting.id) ?? [];
    const last = taken.at(-1);
    const measured = taken.filter((photo) => measurements.has(photo.id) && isUsable(measurements.get(photo.id)));
    const newest = measured.at(-1);
    return element(
      "li",
      {},
      link(
        `#/plantings/${known.planting.id}`,
        { class: "planting" },
        last ? thumbnail(last) : element("span", { class: "thumb none" }, "no photo yet"),
        element("span", { class: "name" }, cultivarName(known.cultivar), doubtMark(known.planting)),
        element(
          "span",
          { class: "quiet" },
          [known.planter?.fields.name ?? "no planter", looking.trial === ALL && known.season, last && seenInWords(known.planting, last)]
            .filter(Boolean)
            .join(" · "),
        ),
        shares(known.cultivar, measurements.get(newest?.id), newest === last ? null : newest),
      ),
    );
  };
}

function seenInWords(planting, photo) {
  const week = weekInWords(planting.fields.planted_on, photo.fields.taken_at);
  return [week, shortDayInWords(photo.fields.taken_at)].filter(Boolean).join(", ");
}

/** @param {Object | null} earlier the photo that the numbers are from, where that is not the one shown */
function shares(cultivar, measurement, earlier) {
  const numbers = measurement?.fields.numbers;
  if (!numbers) return element("span", { class: "quiet" }, "not measured yet");
  const one = (number, words) => [element("b", {}, shareInWords(number)?.value ?? "not had"), ` ${words}`];
  return element(
    "span",
    { class: "shares" },
    element("span", {}, one(numbers.canopy_fill, "filled")),
    !cultivar?.fields.foliage_only && element("span", {}, one(numbers.bloom_cover, "in bloom")),
    earlier && element("span", { class: "quiet" }, `on ${shortDayInWords(earlier.fields.taken_at)}`),
  );
}
