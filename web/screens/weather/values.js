/** Typed numbers of the weather, in the person's units, as they are kept. Pure. */

/** A number with a point or a comma; what is none stays as it was typed, so that it can be refused in words. */
export function typedNumber(text, measure) {
  const trimmed = (text ?? "").toString().trim().replace(",", ".").replace("−", "-");
  if (!trimmed) return null;
  const isNumber = /^[+-]?\d+(\.\d+)?$/.test(trimmed) && Number.isFinite(Number(trimmed));
  return isNumber ? measure.read(Number(trimmed)) : text;
}

/** The record that counts for each day: a measured one before a forecast, of two alike the later. */
export function oneADay(records) {
  const chosen = new Map();
  for (const record of [...records].sort((a, b) => (a.seq || Infinity) - (b.seq || Infinity))) {
    const known = chosen.get(record.fields.day);
    if (!known || known.fields.forecast || !record.fields.forecast) chosen.set(record.fields.day, record);
  }
  return [...chosen.values()].sort((a, b) => b.fields.day.localeCompare(a.fields.day));
}
