/** How a weather file is to be read: its columns, units and time, as guessed and as a person says. */

import { element, freshId } from "../dom.js";

const COLUMNS = [
  ["day", "Day"],
  ["tmin_c", "Lowest temperature"],
  ["tmax_c", "Highest temperature"],
  ["rain_mm", "Rain"],
];

/** @param {Object} answer what the server read @param {Object} chosen by the person so far @param {(choices: Object) => void} tell */
export function choicesPart(answer, chosen, tell) {
  return element(
    "section",
    { class: "file-choices" },
    element("h2", {}, "How it is read"),
    answer.layout === "columns" ? columnsPart(answer, tell) : stationPart(answer, tell),
    day("From", chosen.first_day, (value) => tell({ first_day: value || null })),
    day("Until", chosen.last_day, (value) => tell({ last_day: value || null })),
    tick("These days are a forecast", chosen.forecast, (value) => tell({ forecast: value })),
    !chosen.forecast && tick("Replace measured days that have other values", chosen.replace, (value) => tell({ replace: value })),
  );
}

function columnsPart({ choices, headings, sample, date_orders: orders }, tell) {
  const names = columnNames(headings, sample);
  const columns = choices.columns;
  const pick = (name) => (value) => tell({ columns: { [name]: value === "" ? null : Number(value) } });
  return [
    COLUMNS.map(([name, label]) =>
      select(label, [["", "not in the file"], ...names], columns[name] === null ? "" : String(columns[name]), pick(name)),
    ),
    orders.length === 2 &&
      select(
        "Dates are",
        [["", "choose"], ["day first", "day first, 31/5"], ["month first", "month first, 5/31"]],
        choices.date_order ?? "",
        (value) => tell({ date_order: value || null }),
      ),
    select("Temperatures are in", [["°C", "°C"], ["°F", "°F"], ["tenths of °C", "tenths of °C"]], choices.temperature_unit, (value) => tell({ temperature_unit: value })),
    select("Rain is in", [["mm", "mm"], ["inches", "inches"], ["tenths of mm", "tenths of mm"]], choices.rain_unit, (value) => tell({ rain_unit: value })),
  ]; // prettier-ignore
}

function stationPart({ choices, stations }, tell) {
  if (stations.length < 2) return element("p", {}, `Station ${stations[0]}. Values in tenths of °C and of mm; those that failed the station’s checks are left out.`);
  return select("Station", [["", "choose"], ...stations.map((name) => [name, name])], choices.station ?? "", (value) => tell({ station: value || null }));
}

/** A column by its heading and its first value. */
function columnNames(headings, sample) {
  const width = Math.max(headings.length, ...sample.map((row) => row.length));
  return Array.from({ length: width }, (_, at) => {
    const first = sample[0]?.[at];
    const heading = headings[at] || `column ${at + 1}`;
    return [String(at), first ? `${heading}: ${first}` : heading];
  });
}

const field = (label, control, id) => element("div", { class: "field" }, element("label", { for: id }, label), control);

function select(label, options, value, tell) {
  const id = freshId("choice");
  const control = element("select", { id, onchange: () => tell(control.value) }, options.map(([key, words]) => element("option", { value: key }, words)));
  control.value = value;
  return field(label, control, id);
}

function day(label, value, tell) {
  const id = freshId("choice-day");
  const control = element("input", { id, type: "date", value: value ?? "", onchange: () => tell(control.value) });
  return field(label, control, id);
}

function tick(label, checked, tell) {
  const id = freshId("choice-tick");
  const control = element("input", { id, type: "checkbox", checked: Boolean(checked), onchange: () => tell(control.checked) });
  return element("div", { class: "tick" }, control, element("label", { for: id }, label));
}
