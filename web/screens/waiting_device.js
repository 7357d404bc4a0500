/** This device: when it last heard from the journal, its room, its clock, and what does not work at this address. */

import { element } from "./dom.js";
import { localIso, megabytesInWords, momentInWords } from "../words.js";

const CLOCK_OFF_FROM_S = 120;
/** Under so much room a walk may not fit: some twenty photos. */
const LITTLE_ROOM_BYTES = 150e6;

export function aboutDevice({ journal, offline }) {
  const { state } = journal.queue;
  return element(
    "section",
    {},
    element("h2", {}, "This device"),
    clockWarning(state.clockOffSeconds),
    element(
      "dl",
      { class: "facts" },
      fact("Last in step", state.lastSyncAt ? momentInWords(localIso(state.lastSyncAt)) : "not yet"),
      fact("Room", roomInWords(state.room)),
      fact("Kept for good", keptInWords(state.room)),
      fact("Opens without the journal", offlineInWords(offline)),
    ),
    globalThis.isSecureContext ? null : notSecure(),
  );
}

const fact = (name, words) => [element("dt", {}, name), element("dd", {}, words)];

function clockWarning(offSeconds) {
  if (offSeconds === null || Math.abs(offSeconds) < CLOCK_OFF_FROM_S) return null;
  const size = spanInWords(Math.abs(offSeconds));
  return element(
    "p",
    { class: "problem" },
    `This device’s clock is ${size} ${offSeconds > 0 ? "ahead of" : "behind"} the journal’s. Photos and notes get this device’s moment: set its clock to automatic. The order of changes is safe; it goes by the journal’s own count.`,
  );
}

function spanInWords(seconds) {
  if (seconds < 2 * 3600) return `${Math.round(seconds / 60)} minutes`;
  return seconds < 2 * 86400 ? `${Math.round(seconds / 3600)} hours` : `${Math.round(seconds / 86400)} days`;
}

function roomInWords(room) {
  if (!room) return "This browser does not say.";
  const left = Math.max(0, room.quota - room.used);
  const words = `${megabytesInWords(room.used)} used, about ${megabytesInWords(left)} left`;
  return left < LITTLE_ROOM_BYTES
    ? `${words}. That is little: send what waits, and free some room on the device.`
    : `${words}.`;
}

function keptInWords(room) {
  if (!room) return "This browser does not say.";
  return room.persisted
    ? "Yes: the browser promised not to clear it away."
    : "Not promised: the browser may clear it away when the device is full. Put the journal on the home screen, and send what waits soon.";
}

function offlineInWords(offline) {
  if (!offline.isPossible) return "No: not at this address, or not in this browser.";
  return offline.isReady ? "Yes." : "Not yet; open it once more while the journal answers.";
}

const notSecure = () =>
  element(
    "div",
    { class: "problem" },
    element(
      "p",
      {},
      "This address is not secure (http), so some things do not work here: opening the journal without its computer, the live camera, spoken remarks, and keeping for good. Photos through the phone’s own camera, notes and sending work.",
    ),
    element(
      "p",
      {},
      "Start the journal with “journal-server serve --lan” and open the https address that it prints.",
    ),
  );
