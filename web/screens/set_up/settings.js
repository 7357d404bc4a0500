/** The journal's settings, each with its meaning and its default. */

import { element, redraw } from "../dom.js";
import { form } from "../form.js";
import { methodPart } from "./method.js";
import { problemNote } from "../problem.js";

/** What is set where its outcome is seen. */
const OWN_SCREEN = "Backup";

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
    const ticks = settings.filter(({ on_or_off }) => on_or_off).map(({ name }) => name);
    const kept = ([name, value]) => [name, ticks.includes(name) ? Number(value) : value];
    const save = async (typed) => {
      await server.postJson("/api/settings", Object.fromEntries(Object.entries(typed).map(kept)));
      await context.units.refresh();
      context.notices.say("Settings saved.");
      return [];
    };
    const ofGroup = (wanted) => settings.filter(({ group }) => group === wanted);
    const groups = [...new Set(settings.map(({ group }) => group))].filter((group) => group && group !== OWN_SCREEN);
    redraw(
      place,
      formOf(context, ofGroup(""), save, "Save the settings"),
      groups.map((group) => foldedGroup(group, formOf(context, ofGroup(group), save, `Save: ${group.toLowerCase()}`))),
    );
  } catch (problem) {
    redraw(
      place,
      problemNote(problem, () => fill(context, place)),
    );
  }
}

function formOf({ units }, settings, save, words) {
  const values = Object.fromEntries(settings.map(({ name, value }) => [name, value]));
  return form(settings.map((one) => specOf(one, units.now)), values, save, { words });
}

const foldedGroup = (group, node) =>
  element("details", { id: `settings-${group.toLowerCase().replaceAll(" ", "-")}` }, element("summary", {}, group), node);

/** What a choice is called, where its word in the journal is not what people write. */
const CALLED = { a4: "A4", letter: "Letter" };
const called = (word) => CALLED[word] ?? word;

function specOf({ name, label, value, default: usual, choices, help, on_or_off: onOrOff }, { temperature }) {
  if (onOrOff) return { name, label, help, type: "yes" };
  const type = typeof value === "number" ? "number" : "text";
  const options = choices.length ? choices.map((word) => [word, called(word)]) : undefined;
  const measure = name.endsWith("_c") ? temperature : undefined;
  return {
    name,
    label: measure ? label.replace("°C", measure.unit) : label,
    type,
    options,
    measure,
    help: `${help} Usually: ${measure ? measure.show(usual) : called(usual)}.`,
  };
}
