/** Temperatures, rain and lengths in the units that a person reads. Everything is kept in °C, mm and cm. Pure. */

const MM_AN_INCH = 25.4;
const tidy = (value, digits) => Number(value.toFixed(digits));
/** What was typed and is no number is shown as it is, until it has been refused. */
const numbersOnly = (show) => (value) => (typeof value === "number" ? show(value) : value);

export class Units {
  /** @param {{temperature_unit?: "°C" | "°F", length_unit?: "cm" | "inches"}} [settings] */
  constructor({ temperature_unit: temperature = "°C", length_unit: length = "cm" } = {}) {
    this.temperature = {
      unit: temperature,
      show: numbersOnly((celsius) => tidy(temperature === "°F" ? (celsius * 9) / 5 + 32 : celsius, 1)),
      read: (typed) => tidy(temperature === "°F" ? ((typed - 32) * 5) / 9 : typed, 2),
    };
    const inches = length === "inches";
    this.rain = scale(inches ? "in" : "mm", inches ? MM_AN_INCH : 1, inches ? 2 : 1);
    this.length = scale(inches ? "in" : "cm", inches ? MM_AN_INCH / 10 : 1, 1);
    /** Differences have no zero to move: degree days of Fahrenheit are 9/5 of those of Celsius. */
    this.degreeDays = scale(`${temperature} days`, temperature === "°F" ? 5 / 9 : 1, 0);
  }
}

const scale = (unit, kept, digits) => ({
  unit,
  show: numbersOnly((value) => tidy(value / kept, digits)),
  read: (typed) => tidy(typed * kept, 2),
});

/** "31 °C", or "not known" */
export function inUnit(measure, value, missing = "not known") {
  if (value === null || value === undefined) return missing;
  return `${measure.show(value)}\u00a0${measure.unit}`;
}
