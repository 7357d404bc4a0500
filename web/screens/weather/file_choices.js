/** How a weather file is to be read: its columns, units and time, as guessed and as a person says. */

import { element } from "../dom.js";
import { columnChoices, dateOrderChoice, dayField, selectField, tickField } from "../file_in/choices.js";

const COLUMNS = [
  ["day", "Day"],
  ["tmin_c", "Lowest temperature"],
  ["tmax_c", "Highest temperature"],
  ["rain_mm", "Rain"],
];
const TEMPERATURES = ["°C", "°F", "tenths of °C"].map((unit) => [unit, unit]);
const RAINS = ["mm", "inches", "tenths of mm"].map((unit) => [unit, unit]);

/** @param {Object} answer what the server read @param {Object} chosen by the person so far @param {(choices: Object) => void} tell */
export function choicesPart(answer, chosen, tell) {
  return element(
    "section",
    { class: "file-choices" },
    element("h2", {}, "How it is read"),
    answer.layout === "columns" ? columnsPart(answer, tell) : stationPart(answer, tell),
    dayField("From", chosen.first_day, (value) => tell({ first_day: value || null })),
    dayField("Until", chosen.last_day, (value) => tell({ last_day: value || null })),
    tickField("These days are a forecast", chosen.forecast, (value) => tell({ forecast: value })),
    !chosen.forecast && tickField("Replace measured days that have other values", chosen.replace, (value) => tell({ replace: value })),
  );
}

function columnsPart(answer, tell) {
  const { choices } = answer;
  return [
    columnChoices(answer, COLUMNS, tell),
    dateOrderChoice(answer, tell),
    selectField("Temperatures are in", TEMPERATURES, choices.temperature_unit, (value) => tell({ temperature_unit: value })),
    selectField("Rain is in", RAINS, choices.rain_unit, (value) => tell({ rain_unit: value })),
  ];
}

function stationPart({ choices, stations }, tell) {
  if (stations.length < 2) return element("p", {}, `Station ${stations[0]}. Values in tenths of °C and of mm; those that failed the station’s checks are left out.`);
  return selectField("Station", [["", "choose"], ...stations.map((name) => [name, name])], choices.station ?? "", (value) => tell({ station: value || null }));
}
