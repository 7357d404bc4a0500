/** The weather of a trial: what it comes to, a day typed in, the days so far. */

import { button, element, link, live, redraw } from "../dom.js";
import { form } from "../form.js";
import { derivedId } from "../../store/ids.js";
import { weatherAddress } from "../../store/season_addresses.js";
import { localDay } from "../../store/walk.js";
import { inUnit } from "../../units.js";
import { countInWords, dayInWords, trialInWords } from "../../words.js";
import { noTrialScreen } from "../no_trial.js";
import { copyable } from "../copy/copyable.js";
import { asOf } from "../figure.js";
import { problemNote } from "../problem.js";
import { deleteWithUndo } from "../undo.js";
import { oneADay, typedNumber } from "./values.js";

const LATEST = 14;

export function weatherScreen(context, { trial: trialId }) {
  const { store } = context.journal;
  const trial = store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  const entry = element("div", {});
  const choose = (day) => {
    redraw(entry, dayForm(context, trialId, day, choose));
    return entry.querySelector("form");
  };
  choose(localDay(new Date()));
  const change = (day) => choose(day).querySelector("[data-field=tmin_c] input").focus();
  return {
    title: "Weather",
    nodes: [
      element("h1", {}, "Weather"),
      element("p", { class: "quiet" }, trialInWords(trial)),
      live(store, ["weather"], () => summary(context, trialId)),
      element("p", {}, link(`#/set-up/trials/${trialId}/weather/file`, { class: "secondary" }, "Take a weather file in")),
      element("section", {}, element("h2", {}, "Type a day in"), entry),
      element(
        "section",
        {},
        element("h2", {}, "Days"),
        live(store, ["weather"], () => days(context, trialId, change)),
      ),
    ],
  };
}

const daysOf = (store, trialId) => oneADay(store.all("weather").filter(({ fields }) => fields.trial_id === trialId));

function summary(context, trialId) {
  const place = element("div", {}, element("p", { class: "quiet" }, "Reading …"));
  const ask = async () => {
    try {
      const { answer, keptSince } = await context.journal.server.getDated(weatherAddress(trialId));
      redraw(place, told(context.units.now, answer), asOf(keptSince));
    } catch (problem) {
      redraw(place, problemNote(problem, ask));
    }
  };
  ask();
  return place;
}

function told({ temperature, rain, degreeDays }, weather) {
  const heat = weather.heat_days.length;
  const ahead = weather.heat_days_forecast.length;
  const sum = weather.degree_days;
  const { quotes = {} } = weather;
  const rows = [
    [`Heat days, from ${inUnit(temperature, weather.heat_day_c)}`, `${heat}${ahead ? `, and ${ahead} forecast` : ""}`, quotes.heat_days],
    [
      `Growing degree days above ${inUnit(temperature, weather.base_c)}`,
      sum
        ? `${degreeDays.show(sum.total)} ${degreeDays.unit}${sum.days_missing ? `, ${countInWords(sum.days_missing, "day")} missing` : ""}`
        : weather.reasons.degree_days,
      quotes.degree_days,
    ],
    ["Rain", weather.rain_mm === null ? "not recorded" : inUnit(rain, weather.rain_mm), quotes.rain],
  ];
  const time = weather.from && weather.to ? `Degree days from ${dayInWords(weather.from)} to ${dayInWords(weather.to)}; a forecast is not counted.` : null;
  return [
    element("table", { class: "numbers" }, element("tbody", {}, rows.map(([name, value, quote]) => element("tr", {}, element("th", { scope: "row" }, name), element("td", {}, copyable(value, name, quote)))))),
    time && element("p", { class: "help" }, time),
  ];
}

function dayForm(context, trialId, day, choose) {
  const { store } = context.journal;
  const { temperature, rain } = context.units.now;
  const record = daysOf(store, trialId).find(({ fields }) => fields.day === day);
  const shown = (measure, value) => (value === null || value === undefined ? "" : String(measure.show(value)));
  const was = record?.fields ?? {};
  const values = {
    day,
    tmin_c: shown(temperature, was.tmin_c),
    tmax_c: shown(temperature, was.tmax_c),
    rain_mm: shown(rain, was.rain_mm),
    forecast: record ? Boolean(was.forecast) : hasNotBeen(day),
  };
  const specs = [
    { name: "day", label: "Day", type: "day" },
    { name: "tmin_c", label: `Lowest, ${temperature.unit}`, type: "decimal" },
    { name: "tmax_c", label: `Highest, ${temperature.unit}`, type: "decimal" },
    { name: "rain_mm", label: `Rain, ${rain.unit}`, type: "decimal" },
    { name: "forecast", label: "This is a forecast, not measured", type: "yes" },
  ];
  const save = (typed) => saveDay(context, trialId, { record, was: values, typed, choose });
  const remove = record && deleteButton(context, record, day, choose);
  const node = form(specs, values, save, { words: record ? "Save the day" : "Add the day", more: remove ? [remove] : [] });
  node.classList.add("weather-day");
  node.querySelector("[data-field=day] input").addEventListener("change", (event) => event.target.value && choose(event.target.value));
  return node;
}

function deleteButton(context, record, day, choose) {
  const remove = async () => {
    await deleteWithUndo(context, [record], `${dayInWords(day)} is deleted.`);
    choose(day);
  };
  return button("Delete the day", remove, { class: "secondary", "aria-label": `Delete ${dayInWords(day)}`, id: "delete-day" });
}

const hasNotBeen = (day) => day > localDay(new Date());

async function saveDay({ journal, notices, units }, trialId, { record, was, typed, choose }) {
  const { temperature, rain } = units.now;
  const measures = { tmin_c: temperature, tmax_c: temperature, rain_mm: rain };
  const fields = Object.fromEntries(
    Object.entries(measures)
      .filter(([name]) => !record || (typed[name] ?? "") !== was[name])
      .map(([name, measure]) => [name, typedNumber(typed[name], measure)]),
  );
  if (!record && Object.values(fields).every((value) => value === null))
    return [{ field: "tmax_c", message: "Type at least one of the three." }];
  if (!record || typed.forecast !== was.forecast) fields.forecast = typed.forecast;
  if (!typed.day) return [{ field: "day", message: "This is needed: a date." }];
  if (hasNotBeen(typed.day) && !typed.forecast && (!record || was.forecast))
    return [{ field: "forecast", message: `${dayInWords(typed.day)} has not been yet: mark it as a forecast, or choose the day that was measured.` }];
  const change = record
    ? { kind: "weather", id: record.id, fields }
    : { kind: "weather", id: derivedId("weather", trialId, typed.day), fields: { trial_id: trialId, day: typed.day, ...fields } };
  const putBack = !record && journal.store.lastSaid("weather", change.id)?.deleted ? [{ kind: "weather", id: change.id, restore: true }] : [];
  if (putBack.length) await journal.note(putBack);
  const refused = await journal.applyChanges([change]);
  if (refused.length) return refused;
  notices.say(`${dayInWords(typed.day)}: saved.`);
  choose(typed.day);
  return [];
}

function days(context, trialId, change) {
  const all = daysOf(context.journal.store, trialId);
  if (!all.length) return element("p", {}, "No day yet. Type one in, or take a file from a weather station in.");
  return [
    table(context, all.slice(0, LATEST), change),
    all.length > LATEST &&
      element(
        "details",
        { id: "earlier-days" },
        element("summary", {}, countInWords(all.length - LATEST, "earlier day")),
        table(context, all.slice(LATEST), change),
      ),
  ];
}

function table(context, records, change) {
  const { temperature, rain } = context.units.now;
  const headings = ["Day", `Low ${temperature.unit}`, `High ${temperature.unit}`, `Rain ${rain.unit}`];
  const number = (measure, value) => element("td", {}, value === null || value === undefined ? "" : String(measure.show(value)));
  return element(
    "div",
    { class: "behind", tabindex: "0", role: "region", "aria-label": "Days of weather" },
    element(
      "table",
      { class: "days" },
      element("thead", {}, element("tr", {}, headings.map((words) => element("th", { scope: "col" }, words)))),
      element(
        "tbody",
        {},
        records.map((record) => {
          const { day, tmin_c: low, tmax_c: high, rain_mm: mm, forecast } = record.fields;
          return element(
            "tr",
            {},
            element(
              "th",
              { scope: "row" },
              button(dayInWords(day), () => change(day), { "aria-label": `Change ${dayInWords(day)}`, id: `change-${record.id}` }),
              forecast && element("span", { class: "mark" }, "forecast"),
            ),
            number(temperature, low),
            number(temperature, high),
            number(rain, mm),
          );
        }),
      ),
    ),
  );
}
