/** The journal's settings, each with its meaning and its default. */

import { element, redraw } from "../dom.js";
import { form } from "../form.js";
import { methodPart } from "./method.js";
import { problemNote } from "../problem.js";

export function settingsScreen(context) {
  const place = element("div", {}, element("p", { class: "quiet" }, "Reading …"));
  fill(context, place);
  return {
    title: "Settings",
    nodes: [element("h1", {}, "Settings"), place, methodPart(context.journal.server)],
  };
}

async function fill(context, place) {
  const { server } = context.journal;
  try {
    const { settings } = await server.getJson("/api/settings");
    const specs = settings.map(specOf);
    const values = Object.fromEntries(settings.map(({ name, value }) => [name, value]));
    const save = async (typed) => {
      await server.postJson("/api/settings", typed);
      context.notices.say("Settings saved.");
      return [];
    };
    redraw(place, form(specs, values, save, { words: "Save the settings" }));
  } catch (problem) {
    redraw(
      place,
      problemNote(problem, () => fill(context, place)),
    );
  }
}

function specOf({ name, label, value, default: usual, choices, help }) {
  const type = typeof value === "number" ? "number" : "text";
  const options = choices.length ? choices.map((word) => [word, word]) : undefined;
  return { name, label, type, options, help: `${help} Usually: ${usual}.` };
}
