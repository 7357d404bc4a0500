/** Numbers, dates and names as people read them. Pure. */

const MONTHS =
  "January February March April May June July August September October November December".split(" ");

const atMidnightUtc = (isoDay) => new Date(`${isoDay.slice(0, 10)}T00:00:00Z`);

/** Kept on one line, so that a day is never torn from its month, nor a number from its unit. */
const together = (words) => words.replaceAll(" ", "\u00a0");

const NUMBER = "[−+-]?[0-9](?:[0-9.,]{0,8}[0-9])?";
const UNIT = `%|°[CF]|(?:cm|mm|MB|days?|weeks?|times|${MONTHS.join("|")}|${MONTHS.map((month) => month.slice(0, 3)).join("|")})(?!\\w)`;
// Without a look behind, which phones of a few years ago cannot read.
const RUN = new RegExp(`(^|[^\\w.,–])((?:(?:week|day|dE00|rank) )?${NUMBER}(?:–${NUMBER})?(?: (?:${UNIT}))?)(?![\\w–])`, "g");

/** A sentence of the server for a screen, by the same rule (`domain/unbroken.py`). What is copied and kept has plain spaces. */
export const unbroken = (sentence) => sentence.replace(RUN, (_, before, run) => before + together(run));

/** "22 August 2026": the figures' order everywhere, so that one page never mixes two. */
export function dayInWords(iso) {
  if (!iso) return "day not known";
  const [year, month, day] = iso.slice(0, 10).split("-").map(Number);
  return together(`${day} ${MONTHS[month - 1]} ${year}`);
}

/** "22 Aug" */
export function shortDayInWords(iso) {
  if (!iso) return "day not known";
  const [, month, day] = iso.slice(0, 10).split("-").map(Number);
  return together(`${day} ${MONTHS[month - 1].slice(0, 3)}`);
}

/** The moment as the photographer's clock showed it, with its offset. */
export function momentInWords(iso) {
  if (!iso) return "moment not known";
  const clock = iso.slice(11, 16);
  const offset = iso.match(/([+-]\d\d:\d\d|Z)$/)?.[0];
  return [dayInWords(iso), clock, offset === "Z" ? "UTC" : offset && `UTC${offset}`]
    .filter(Boolean)
    .join(", ");
}

/** A moment as the clock of this device shows it, with its offset. @param {string | Date} moment */
export function localIso(moment) {
  const at = new Date(moment);
  const minutes = -at.getTimezoneOffset();
  const two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const shifted = new Date(at.getTime() + minutes * 60000).toISOString().slice(0, 19);
  return `${shifted}${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
}

/** Of something that this device kept, since the journal cannot be asked now. */
export function asOfInWords(moment) {
  const iso = localIso(moment);
  return `As of ${dayInWords(iso)}, ${iso.slice(11, 16)}: kept on this device, since the journal cannot be asked now.`;
}

export function daysBetween(fromIso, toIso) {
  return Math.round((atMidnightUtc(toIso) - atMidnightUtc(fromIso)) / 86400000);
}

/** "week 6", the nearest whole week after planting, as in the figures; empty when either day is not known. */
export function weekInWords(plantedOn, takenAt) {
  if (!plantedOn || !takenAt) return "";
  const days = daysBetween(plantedOn, takenAt);
  return days < 0 ? "before planting" : together(`week ${Math.round(days / 7)}`);
}

/** With a capital at its beginning. */
export const capital = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);

export function countInWords(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}

/** "7.4 MB", "12 GB" */
export function megabytesInWords(bytes) {
  if (bytes >= 9.95e9) return together(`${Math.round(bytes / 1e9)} GB`);
  if (bytes >= 1e9) return together(`${(bytes / 1e9).toFixed(1)} GB`);
  return together(`${bytes >= 1e7 ? Math.round(bytes / 1e6) : (bytes / 1e6).toFixed(1)} MB`);
}

/** A share with its interval: no more digits than the interval supports. The figures have the same rule. */
export function shareInWords(number) {
  if (!number) return null;
  const width = number.high - number.low;
  const digits = width > 0 && width < 0.01 ? 1 : 0;
  const least = 10 ** -digits;
  const per = (share) => (share * 100).toFixed(digits);
  const isUnder = number.value > 0 && number.value * 100 < least / 2;
  return {
    value: together(isUnder ? `under ${least} %` : `${per(number.value)} %`),
    interval: together(`${per(number.low)}–${per(number.high)} %`),
  };
}

/** An amount with its interval: no more digits than the interval supports. The figures have the same rule. */
export function amountInWords(number, unit = "") {
  if (!number) return null;
  const width = number.high - number.low;
  const digits = width >= 5 ? 0 : width >= 0.5 ? 1 : 2;
  const say = (value) => value.toFixed(digits);
  const tail = unit ? ` ${unit}` : "";
  return { value: say(number.value) + tail, interval: `${say(number.low)}–${say(number.high)}${tail}` };
}

/** Petunia ‘Plum Gaslight’: the genus, then the cultivar name in single quotes. The order everywhere. */
export function cultivarWords(genus, name, species = null) {
  return [genus, species, name && `‘${name}’`].filter(Boolean).join(" ");
}

/** The same, of a cultivar's record. */
export function cultivarInWords(cultivar) {
  if (!cultivar) return "Cultivar not known";
  const { genus, species, name } = cultivar.fields;
  return cultivarWords(genus, name, species);
}

/** "Terrace, 2026": a trial's title with its year, unless the title says it. */
export function trialInWords(trial) {
  const { title, year } = trial.fields;
  return title.includes(String(year)) ? title : `${title}, ${year}`;
}
