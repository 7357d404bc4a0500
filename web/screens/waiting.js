/** What waits on this device, what wants a person's eye, how much room is left, and sending now. */

import { button, element, link, live } from "./dom.js";
import { countInWords, megabytesInWords } from "../words.js";
import { pictureAddress } from "../store/waiting_pictures.js";
import { sayEntry } from "../sync/in_words.js";
import { aboutDevice } from "./waiting_device.js";
import { attentionPart } from "./waiting_attention.js";
import { conflictsPart } from "./waiting_conflicts.js";
import { confirmed } from "./set_up/confirm.js";

/** So many are listed one by one; of the others the number is said. */
const MOST_LISTED = 30;

export function waitingScreen(context) {
  const { queue } = context.journal;
  const drawn = () => JSON.stringify([queue.state, context.offline.hasNewVersion, context.offline.isReady]);
  const draw = () => [
    standing(context),
    attentionPart(context),
    conflictsPart(context),
    waitingList(context),
    aboutDevice(context),
  ];
  return {
    title: "Waiting",
    nodes: [
      element("h1", {}, "Waiting"),
      live(queue, drawn, draw, { class: "stack" }),
      element("div", { class: "action-bar" }, sendNow(context)),
    ],
  };
}

function sendNow({ journal, notices }) {
  const send = button(
    "Send now",
    async () => {
      send.disabled = true;
      try {
        await journal.syncNow({ fromPerson: true });
        notices.say(afterSending(journal.queue.state));
      } catch (problem) {
        notices.say(problem.message);
      } finally {
        send.disabled = false;
      }
    },
    { class: "primary" },
  );
  return send;
}

function afterSending(state) {
  if (state.attention.length || state.conflicts.length) return "Sent, but for what wants a look.";
  return state.waiting
    ? `${countInWords(state.waiting, "thing waits", "things wait")} for the next try.`
    : "Everything is sent.";
}

function standing(context) {
  const { state } = context.journal.queue;
  return element(
    "section",
    {},
    element("p", { class: "lead", role: "status" }, howMuch(state)),
    state.sending && progress(state.sending),
    (WHY_NOT[state.reach] ?? (() => null))(context),
    state.lasting ? null : nothingKept(),
  );
}

function howMuch({ waiting, photos, bytes }) {
  if (!waiting) return "Nothing waits here to be sent.";
  const what = photos ? `, ${countInWords(photos, "photo")} (${megabytesInWords(bytes)}) among them` : "";
  const rest =
    waiting === 1
      ? "It goes by itself as soon as the journal can be reached, and stays here until it has it."
      : "They go by themselves as soon as the journal can be reached, and stay here until it has them.";
  return `${countInWords(waiting, "thing waits", "things wait")} on this device${what}. ${rest}`;
}

const progress = ({ done, of }) =>
  element(
    "div",
    {},
    element("progress", { value: done, max: of, "aria-label": "Sent" }),
    element("p", { class: "quiet" }, `${done} of ${of} sent`),
  );

const WHY_NOT = {
  no: () =>
    element(
      "p",
      {},
      "The journal cannot be reached now: no signal, or its computer is off. Go on as usual; nothing is lost.",
    ),
  "not paired": () =>
    element(
      "div",
      { class: "problem" },
      element(
        "p",
        {},
        "The journal does not know this phone (any more), so nothing is sent. Everything is kept here and goes once the phone is paired.",
      ),
      link("#/pair", { class: "secondary" }, "Pair this phone"),
    ),
  "another journal": anotherJournal,
};

function anotherJournal({ journal, notices }) {
  const open = async () => {
    const sure = await confirmed(
      "Throw away what waits here?",
      "What waits was made for the other journal and is nowhere else. Start that journal at this address instead, and it is sent.",
      "Throw away and open this journal",
    );
    if (!sure) return;
    await journal.openTheOther().catch((problem) => notices.say(problem.message));
  };
  return element(
    "div",
    { class: "problem" },
    element(
      "p",
      {},
      "Another journal answers at this address than the one used here before. What waits belongs to the other one and is not sent here; what you see is the other one’s too.",
    ),
    button("Throw it away and open this journal", open),
  );
}

const nothingKept = () =>
  element(
    "div",
    { class: "problem" },
    element(
      "p",
      {},
      "This browser window lets the journal keep nothing (it may be a private window). You can look and note while the journal answers; what has not been sent is lost when the window is closed. Open the journal in a usual window for the walk.",
    ),
  );

function waitingList({ journal }) {
  const waiting = journal.queue.entries.filter((entry) => !entry.attention);
  if (!waiting.length) return null;
  const more = waiting.length - MOST_LISTED;
  return element(
    "section",
    {},
    element("h2", {}, "What waits"),
    element(
      "ul",
      { class: "rows waiting-rows" },
      waiting.slice(0, MOST_LISTED).map((entry) => row(journal.store, entry)),
    ),
    more > 0 && element("p", { class: "quiet" }, `and ${more} more`),
  );
}

function row(store, entry) {
  const picture =
    entry.kind === "photo" &&
    element("img", {
      class: "thumb",
      src: pictureAddress(entry.id, "thumb"),
      alt: "",
      width: 80,
      height: 60,
    });
  return element("li", {}, picture, element("span", {}, sayEntry(store, entry)));
}
