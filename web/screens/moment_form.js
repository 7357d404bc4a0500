/** Correcting the moment of a photo: day, clock and the offset from UTC. */

import { form } from "./form.js";

const FIELDS = [
  { name: "day", label: "Day", type: "day" },
  { name: "clock", label: "Clock", help: "As the clock on the wall showed it, for example 10:14" },
  { name: "offset", label: "Offset from UTC", help: "For example +01:00 for British summer time" },
];

export function momentForm(context, photo, done) {
  const iso = photo.fields.taken_at ?? "";
  const values = {
    day: iso.slice(0, 10),
    clock: iso.slice(11, 16),
    offset: iso.match(/([+-]\d\d:\d\d)$/)?.[1] ?? "+00:00",
  };
  const save = async ({ day, clock, offset }) => {
    const wrong = problemsIn({ day, clock, offset });
    if (wrong.length) return wrong;
    const change = {
      kind: "photo",
      id: photo.id,
      fields: { taken_at: `${day}T${clock.padStart(5, "0")}:00${offset}` },
    };
    const refused = await context.journal.applyChanges([change]);
    if (refused.length) return refused.map((problem) => ({ ...problem, field: "day" }));
    context.notices.say("Moment changed.");
    done();
    return [];
  };
  return form(FIELDS, values, save, { words: "Save the moment" });
}

/** The three inputs make one field of the record, so what is wrong with each is found before it is sent. */
function problemsIn({ day, clock, offset }) {
  return [
    !day && { field: "day", message: "Give the day on which the photo was taken." },
    !/^([01]?\d|2[0-3]):[0-5]\d$/.test(clock ?? "") && {
      field: "clock",
      message: "Give the clock as hours and minutes, for example 10:14.",
    },
    !/^[+-](0\d|1[0-4]):[0-5]\d$/.test(offset ?? "") && {
      field: "offset",
      message: "Give the offset like +01:00 or -05:00.",
    },
  ].filter(Boolean);
}
