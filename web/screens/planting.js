/** One planting: its photos by date, the numbers of the one looked at, its curves and its season in numbers. */

import { element, link, live, redraw } from "./dom.js";
import { currentMeasurements, describePlanting, isMeasuring, photosByPlanting } from "../store/queries.js";
import { cultivarInWords, dayInWords, shareInWords, shortDayInWords, trialInWords, weekInWords } from "../words.js";
import { cultivarName, doubtMark } from "./names.js";
import { isUsable, laggingFinding, leadingNumbers, measuringState, swatch, warningsList } from "./numbers.js";
import { picture, thumbnail } from "./picture.js";
import { photoQuotes } from "./copy/photo_quotes.js";
import { plantingCurves } from "./planting_curves.js";
import { summaryAddress } from "../store/season_addresses.js";
import { summaryTable } from "./summary.js";
import { compareAddress } from "./compare/ways_in.js";
import { careOfPlanting } from "./care/way_in.js";
import { visitsPart } from "./visits.js";
import { identityPart } from "./identity_part.js";
import { plantsPart } from "./plants_part.js";
import { lookAtList, notedThings } from "./look_at_list.js";
import { wayToVerdict } from "./review/way_in.js";
import { notHere } from "./not_here.js";

const VISIT_KINDS = ["visit", "finding", "rating", "recording", "photo"];

export function plantingScreen(context, { id }) {
  const { store, server } = context.journal;
  const known = describePlanting(store, id);
  if (!known) return notHere("This planting is not in the journal", "#/plantings", "All plantings");
  return {
    title: known.name,
    wide: true,
    nodes: [
      live(store, ["planting", "planter", "cultivar"], () => heading(describePlanting(store, id) ?? known)),
      live(store, ["photo", "measurement"], () => photosPart(context, id)),
      lookAtList(context, { plantingId: id, without: ["care_overdue"] }),
      live(store, ["look_at_answer"], () => notedThings(context, id)),
      live(
        store,
        () => isMeasuring(store) || store.stamp(["measurement", "planting", "cultivar"]),
        () => seasonPart(store, server, id),
      ),
      element("section", { class: "stack" }, element("h2", {}, "Care"), careOfPlanting(context, id)),
      element(
        "section",
        {},
        element("h2", {}, "Visits"),
        live(store, VISIT_KINDS, () => visitsPart(context.journal, id)),
      ),
      identityPart(context, id),
      plantsPart(context, id),
      live(store, ["verdict", "planter"], () => wayToVerdict(store, id)),
      element(
        "section",
        {},
        element("h2", {}, "About this planting"),
        live(store, ["planting", "cultivar"], () => about(describePlanting(store, id) ?? known)),
      ),
    ],
  };
}

function heading({ planting, cultivar, planter }) {
  return element(
    "header",
    {},
    element("h1", {}, cultivarName(cultivar), doubtMark(planting)),
    element(
      "p",
      { class: "quiet" },
      [planter?.fields.name, `planted on ${dayInWords(planting.fields.planted_on)}`]
        .filter(Boolean)
        .join(" · "),
    ),
  );
}

function photosPart(context, plantingId) {
  const { store } = context.journal;
  const photos = photosByPlanting(store).get(plantingId) ?? [];
  if (!photos.length)
    return element(
      "section",
      {},
      element("p", {}, "No photo of this planting yet. "),
      link("#/photos/in", {}, "Take photos in"),
    );
  const { planting } = describePlanting(store, plantingId) ?? {};
  const measurements = currentMeasurements(store);
  const look = element("div", { class: "photo-page" });
  const dates = photos.map((photo) => dateButton(photo, planting, measurements, () => show(photo)));
  const show = (photo) => {
    chosen.set(plantingId, photo.id);
    dates.forEach((node, index) => node.setAttribute("aria-pressed", String(photos[index].id === photo.id)));
    redraw(look, onePhoto(context, photo, planting, measurements.get(photo.id) ?? null));
  };
  show(photos.find((photo) => photo.id === chosen.get(plantingId)) ?? photos.at(-1));
  const strip = element("div", { class: "dates", role: "group", "aria-label": "Photos by date" }, dates);
  requestAnimationFrame(
    () => (strip.scrollLeft = strip.querySelector("[aria-pressed=true]").offsetLeft - strip.clientWidth / 2),
  );
  return element("section", {}, strip, look);
}

/** Which photo of each planting was last looked at; kept so that a new measurement does not turn the page. */
const chosen = new Map();

function dateButton(photo, planting, measurements, onclick) {
  const measurement = measurements.get(photo.id);
  const fill = isUsable(measurement)
    ? shareInWords(measurement?.fields.numbers.canopy_fill)?.value
    : "left out";
  const words = [
    shortDayInWords(photo.fields.taken_at),
    weekInWords(planting?.fields.planted_on, photo.fields.taken_at),
  ];
  return element(
    "button",
    { type: "button", onclick, id: `date-${photo.id}`, class: "date" },
    thumbnail(photo),
    element("span", {}, words[0]),
    element("span", { class: "quiet" }, [words[1], fill].filter(Boolean).join(" · ")),
  );
}

function onePhoto(context, photo, planting, measurement) {
  const { numbers } = measurement?.fields ?? {};
  const words = [
    dayInWords(photo.fields.taken_at),
    weekInWords(planting?.fields.planted_on, photo.fields.taken_at),
  ]
    .filter(Boolean)
    .join(", ");
  const { cultivar, planter } = describePlanting(context.journal.store, photo.fields.planting_id) ?? {};
  const name = [cultivarInWords(cultivar), planter?.fields.name].filter(Boolean).join(" in ");
  return [
    element("div", { class: "look" }, picture(photo, measurement, `Photo of ${words}`, `${name}, ${words}`)),
    element(
      "div",
      { class: "read stack" },
      element("h2", {}, words),
      measuringState(context, photo, measurement),
      leadingNumbers(measurement, measurement && photoQuotes(context.journal.server, photo, measurement)),
      laggingFinding(measurement),
      warningsList(numbers),
      element(
        "div",
        { class: "ways" },
        link(`#/photos/${photo.id}`, { class: "secondary", id: "open-photo" }, "All about this photo"),
        link(`#/photos/${photo.id}/frame`, { class: "secondary", id: "draw-frame" }, "Draw the frame"),
        link(compareAddress(photo), { class: "secondary", id: "compare-dates" }, "Compare with another date"),
      ),
    ),
  ];
}

function seasonPart(store, server, plantingId) {
  if (
    !(photosByPlanting(store).get(plantingId) ?? []).some((photo) => currentMeasurements(store).has(photo.id))
  )
    return null;
  const foliageOnly = Boolean(describePlanting(store, plantingId)?.cultivar?.fields.foliage_only);
  return element(
    "section",
    {},
    element("h2", {}, "Its season"),
    plantingCurves(server, plantingId, foliageOnly),
    element("h3", {}, "In numbers"),
    live(store, ["plant_count"], () => summaryTable(server, summaryAddress(plantingId))),
  );
}

function about({ planting, cultivar, trial }) {
  const { card_code: code, note } = planting.fields;
  const facts = [
    ["Trial", trial ? trialInWords(trial) : "not known"],
    ["Card", code ?? "none"],
    ["Declared bloom colours", colours(cultivar?.fields.bloom_colours)],
    ["Note", note || "none"],
  ];
  return [
    element(
      "dl",
      { class: "facts" },
      facts.map(([name, value]) => element("div", {}, element("dt", {}, name), element("dd", {}, value))),
    ),
    element(
      "div",
      { class: "ways" },
      link(`#/set-up/plantings/${planting.id}`, { class: "secondary" }, "Change this planting"),
      cultivar && link(`#/set-up/cultivars/${cultivar.id}`, { class: "secondary" }, "Change the cultivar"),
    ),
  ];
}

const colours = (list) => (list?.length ? list.map((hex) => [swatch(hex), ` ${hex} `]) : "none");
