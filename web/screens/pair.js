/** Pairing this device: the code is typed, or came with the link; and leaving the journal again. */

import { button, element, link, redraw } from "./dom.js";
import { form } from "./form.js";
import { problemNote } from "./problem.js";
import { confirmed } from "./set_up/confirm.js";
import { countInWords } from "../words.js";

export const ROLES_IN_WORDS = {
  owner: "may do everything",
  helper: "takes photos and notes walks",
  reader: "looks, and changes nothing",
};

export function pairScreen(context, { code = "" }) {
  // The code is for this once: it is not left in the address, where the browser would remember it.
  if (code) history.replaceState(history.state, "", "#/pair");
  const place = element("div", { class: "stack" }, element("p", { class: "quiet" }, "Reading …"));
  fill(context, place, code);
  return { title: "Pair this phone", nodes: [element("h1", {}, "Pair this phone"), place] };
}

async function fill(context, place, code) {
  const again = () => fill(context, place, code);
  try {
    const me = await context.journal.server.getJson("/api/me");
    redraw(place, me.local ? atHome() : me.paired ? paired(context, me, again) : unpaired(context, code));
  } catch (problem) {
    redraw(place, problemNote(problem, again));
  }
}

function atHome() {
  return element(
    "section",
    {},
    element("p", {}, "This is the journal’s own computer: nothing needs pairing here."),
    element("p", {}, link("#/set-up/phones", {}, "Let a phone in")),
  );
}

function unpaired(context, code) {
  const specs = [
    {
      name: "code",
      label: "Pairing code",
      type: "code",
      help: "Eight letters and digits; small or capital is the same.",
    },
    { name: "device_name", label: "Name of this device", help: "So that you can tell it from others." },
  ];
  return [
    element(
      "section",
      {},
      element(
        "p",
        { class: "lead" },
        "Pairing lets this phone into the journal on your computer. It gets a key of its own, which can be taken back at any time.",
      ),
      element(
        "p",
        {},
        "The code is shown on that computer, in the window where the journal was started and under Set-up, Phones. It works once, for ten minutes.",
      ),
      waitingHere(context.journal),
      readAlong(),
    ),
    form(specs, { code, device_name: kindOfDevice(navigator.userAgent) }, (typed) => pair(context, typed), {
      words: "Pair this phone",
    }),
  ];
}

async function pair(context, typed) {
  const { journal, notices } = context;
  const { device } = await journal.server.postJson("/api/pair", typed);
  notices.say(`“${device.name}” is paired: it ${ROLES_IN_WORDS[device.role]}.`);
  // Paired it is, whatever becomes of the first round; what fails now is tried again by itself.
  await journal.pull().catch(() => {});
  journal.syncNow().catch(() => {});
  context.go("#/");
  return [];
}

function waitingHere(journal) {
  const { waiting } = journal.queue.state;
  const words = `${countInWords(waiting, "thing waits", "things wait")} on this phone, kept safe, to be sent once it is paired.`;
  return waiting > 0 && element("p", {}, words);
}

function readAlong() {
  if (isSecureContext) return null;
  return element(
    "p",
    { class: "signal" },
    "This page came over plain http: anyone in this network can read what is sent, the live camera does not work, and the app does not open without a signal. Photos taken with the phone’s camera can be added all the same.",
  );
}

function paired(context, me, again) {
  return element(
    "section",
    {},
    element("p", { class: "lead" }, `This phone is paired as “${me.device.name}”.`),
    element("p", {}, `It ${ROLES_IN_WORDS[me.role]}.`),
    element(
      "div",
      { class: "ways" },
      link("#/", { class: "secondary" }, "Go to Today"),
      button("Leave the journal", () => leave(context, again)),
    ),
  );
}

async function leave({ journal, notices }, again) {
  const consequence =
    "Its key is void from then on. What waits here and was not sent stays on this phone until it is paired again.";
  if (!(await confirmed("Leave the journal on this phone?", consequence, "Leave"))) return;
  try {
    await journal.server.postJson("/api/leave", {});
    again();
  } catch (problem) {
    notices.say(problem.message);
  }
}

/** A name to begin with, from what the browser says it runs on. */
function kindOfDevice(userAgent) {
  if (/iPhone/.test(userAgent)) return "iPhone";
  if (/iPad/.test(userAgent)) return "iPad";
  return /Android/.test(userAgent) ? "Android phone" : "Computer";
}
