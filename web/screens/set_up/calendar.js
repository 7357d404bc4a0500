/** Care in a calendar program: addresses that carry a key of their own, made here and taken back here. */

import { addressesToCopy } from "../address_to_copy.js";
import { button, element, redraw } from "../dom.js";
import { form } from "../form.js";
import { noTrialYet } from "../no_trial.js";
import { problemNote } from "../problem.js";
import { chosenTrial } from "../../store/queries.js";
import { dayInWords, trialInWords } from "../../words.js";
import { confirmed } from "./confirm.js";

const PATH = "/api/calendar-addresses";

export function calendarScreen(context) {
  const { store, server } = context.journal;
  const made = element("div", { class: "stack", "aria-live": "polite" });
  const list = element("section", {}, element("p", { class: "quiet" }, "Reading …"));
  const show = (answer) => redraw(list, addressList(context, answer, show));
  const read = async () => {
    try {
      show(await server.getJson(PATH));
    } catch (problem) {
      redraw(list, problemNote(problem, read));
    }
  };
  const make = async (typed) => {
    const answer = await server.postJson(PATH, typed);
    show(answer);
    redraw(made, madeAddress(context, answer));
    return [];
  };
  read();
  const trials = store.all("trial").sort((a, b) => b.fields.year - a.fields.year);
  const options = trials.map((trial) => [trial.id, trialInWords(trial)]);
  const specs = [
    { name: "trial_id", label: "Trial", options },
    { name: "name", label: "For which device or program", help: "So that you know later which address is whose" },
  ];
  return {
    title: "Calendar",
    nodes: [
      element("h1", {}, "Care in your calendar"),
      element(
        "p",
        {},
        "A calendar program can show what care is due. It cannot be paired, so its address carries a key: whoever has the address reads what is due in that one trial (what, when, at which plantings), and nothing else.",
      ),
      trials.length
        ? form(specs, { trial_id: chosenTrial(store)?.id }, make, { words: "Make a calendar address" })
        : noTrialYet(),
      made,
      list,
    ],
  };
}

function madeAddress({ notices }, { urls, lan }) {
  return [
    element("h2", {}, "The new address"),
    element("p", {}, "Subscribe to it in your calendar program. It is shown this once."),
    addressesToCopy(notices, urls),
    !lan && element("p", { class: "quiet" }, "The journal is open to this computer only, so only a calendar on it can read this. For phones, start it with “journal-server serve --lan” and make an address then."),
    lan && element("p", { class: "quiet" }, "The device must be in the same network and trust the journal’s certificate, as a phone does that is paired."),
  ];
}

function addressList(context, { addresses }, show) {
  const { store } = context.journal;
  const open = addresses.filter(({ revoked_at: at }) => !at);
  return [
    element("h2", {}, "Addresses"),
    open.length
      ? element("ul", { class: "rows" }, open.map((one) => element("li", { class: "row" }, addressWords(store, one), closeButton(context, one, show))))
      : element("p", { class: "quiet" }, "None is open."),
  ];
}

function addressWords(store, { name, trial_id: trialId, last_used_at: used }) {
  const trial = store.get("trial", trialId)?.fields.title ?? "a trial that is gone";
  return element("span", {}, `${name}: ${trial} `, element("span", { class: "quiet" }, used ? `last read on ${dayInWords(used)}` : "not read yet"));
}

function closeButton({ journal, notices }, address, show) {
  const close = async () => {
    if (!(await confirmed(`Close the address of “${address.name}”?`, "It opens nothing from now on. Another can be made at any time.", "Close it"))) return;
    try {
      show(await journal.server.deleteJson(`${PATH}/${address.id}`));
      notices.say(`The address of “${address.name}” is closed.`);
    } catch (problem) {
      notices.say(problem.message);
    }
  };
  return button("Close it", close, { "aria-label": `Close the address of ${address.name}`, id: `close-${address.id}` });
}
