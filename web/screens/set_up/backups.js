/** Backups into a folder: where, how often, how many; one now; what there is; how to get it back. */

import { button, element, redraw } from "../dom.js";
import { form } from "../form.js";
import { problemNote } from "../problem.js";
import { countInWords, localIso, momentInWords } from "../../words.js";

const PATH = "/api/backups";
const LOOKS_EVERY_MS = 1000;

/** The moment by this device's clock. */
const atHome = (iso) => momentInWords(localIso(new Date(iso)));

const SPECS = [
  {
    name: "backup_folder",
    label: "Folder for the backups",
    help: "Its whole path on the computer that keeps the journal, on another disk than the journal’s; new or empty. Leave it empty to make none.",
  },
  { name: "backup_every_days", label: "Every (days)", type: "number", help: "Made by itself while the journal is being served." },
  {
    name: "backup_keep",
    label: "Backups to keep",
    type: "number",
    help: "Older copies of what was entered are let go; photos and spoken remarks never are.",
  },
];

export function backupsScreen(context) {
  const { server } = context.journal;
  const place = element("div", { class: "stack" }, element("p", { class: "quiet" }, "Reading …"));
  const told = element("div", { class: "stack", "aria-live": "polite" });
  let ended = false;
  const show = (answer) => {
    redraw(told, state(answer), nowButton(answer, backUpNow), list(answer));
    if (answer.making) setTimeout(look, LOOKS_EVERY_MS);
  };
  const look = async () => {
    if (ended) return;
    try {
      show(await server.getJson(PATH));
    } catch (problem) {
      redraw(told, problemNote(problem, look));
    }
  };
  const backUpNow = async () => {
    try {
      show(await server.postJson(PATH, {}));
    } catch (problem) {
      context.notices.say(problem.message);
    }
  };
  const save = async (typed) => {
    await server.postJson("/api/settings", typed);
    context.notices.say(typed.backup_folder ? "Saved. A backup is being made." : "Saved. No backups are made by themselves.");
    if (typed.backup_folder) await backUpNow();
    else await look();
    return [];
  };
  const read = async () => {
    try {
      const answer = await server.getJson(PATH);
      const values = { backup_folder: answer.folder, backup_every_days: answer.every_days, backup_keep: answer.keep };
      redraw(place, told, form(SPECS, values, save, { words: "Save" }), gettingBack());
      show(answer);
    } catch (problem) {
      redraw(place, problemNote(problem, read));
    }
  };
  read();
  return {
    title: "Backup",
    nodes: [element("h1", {}, "Backup"), place],
    leave: () => {
      ended = true;
    },
  };
}

function state({ state: { last_good: good, failure }, making, problem }) {
  if (making) {
    const { done, total } = making;
    return [
      element("p", {}, total ? `Backing up: ${done} of ${countInWords(total, "file")}.` : "Backing up …"),
      element("progress", { value: done, max: Math.max(total, 1), "aria-label": "Files backed up" }),
    ];
  }
  return [
    failure && problemNote(new Error(`The backup of ${atHome(failure.at)} failed. ${failure.says}`)),
    problem && problemNote(new Error(problem)),
    element("p", {}, good ? `Last good backup: ${atHome(good)}.` : "Never backed up."),
  ];
}

function nowButton({ folder, making, can_make: can }, backUpNow) {
  return folder && can ? button("Back up now", backUpNow, { id: "back-up-now", disabled: Boolean(making) }) : null;
}

function list({ folder, kept }) {
  if (!kept.length) return null;
  return element(
    "section",
    {},
    element("h2", {}, "In the folder"),
    element("p", { class: "quiet long-path" }, folder),
    element(
      "ul",
      { class: "rows" },
      kept.map(({ made_at: made, photos }) =>
        element("li", {}, atHome(made), " ", element("span", { class: "quiet" }, countInWords(photos, "photo"))),
      ),
    ),
  );
}

function gettingBack() {
  return element(
    "section",
    {},
    element("h2", {}, "Getting it back, and one file to carry away"),
    element("p", {}, "On the computer that keeps the journal, in a terminal:"),
    element(
      "dl",
      { class: "commands" },
      command("journal-server restore FOLDER --data NEW-FOLDER", "verifies every photo, restores into a new folder, and proves that all is the same"),
      command("journal-server backup FILE --encrypt", "everything in one file, sealed with a passphrase: for a place that is not yours alone. The folder above is not sealed."),
      command("journal-server check", "looks the whole journal over, and says what is wrong and how to mend it"),
    ),
  );
}

const command = (words, does) => [element("dt", {}, element("code", {}, words)), element("dd", {}, does)];
