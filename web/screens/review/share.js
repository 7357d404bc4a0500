/** Sharing a report: an address that opens this one report, for readers who are not paired; listed, renewed and closed here. */

import { button, element, link, redraw } from "../dom.js";
import { addressesToCopy } from "../address_to_copy.js";
import { form } from "../form.js";
import { problemNote } from "../problem.js";
import { confirmed } from "../set_up/confirm.js";
import { capital, cultivarInWords, dayInWords, trialInWords } from "../../words.js";

const PATH = "/api/report-links";

const REPORT_WORDS = {
  trial: () => "the whole trial",
  cultivar: (store, { cultivar_id: id }) => cultivarInWords(store.get("cultivar", id)),
  "two-trials": (store, { other_trial_id: id }) => `beside ${trialInWords(store.get("trial", id))}`,
  "order-list": () => "order list for next year",
};

/** @param {{report?: string, cultivar?: string, other?: string, photos?: string, crop?: string, place?: string, paper?: string}} chosen as in the address */
export function shareScreen(context, { trial: trialId, report = "trial", cultivar, other, photos = "yes", crop = "no", place = "no", paper }) {
  const { store, server } = context.journal;
  const trial = store.get("trial", trialId);
  const chosen = { report, trial_id: trialId, cultivar, other, paper, photos: photos === "yes", crop: crop === "yes", place: place === "yes" };
  const made = element("div", { class: "stack", "aria-live": "polite" });
  const list = element("section", {}, element("p", { class: "quiet" }, "Reading …"));
  const rest = element("div", { class: "stack" });
  const show = (answer) => redraw(list, linkList(context, answer, show));
  const make = async (typed) => {
    const answer = await server.postJson(PATH, { ...chosen, ...typed });
    show(answer);
    redraw(made, newLink(context.notices, answer));
    return [];
  };
  const read = async () => {
    try {
      show(await server.getJson(PATH));
      redraw(rest, trial ? choice(store, trial, chosen, make) : element("p", {}, "This trial is not in the journal any more."), made);
    } catch (problem) {
      redraw(list, problemNote(problem, read));
    }
  };
  read();
  return {
    title: "Share a report",
    nodes: [
      element("h1", {}, "Share a report"),
      element(
        "p",
        {},
        "A link opens one report and nothing else of the journal, for whoever has it: no pairing, no app. It shows the report as it is now; what you note later is in it only once you bring it up to date. Its photos carry no place, and it can be closed at any time.",
      ),
      rest,
      list,
    ],
  };
}

function choice(store, trial, chosen, make) {
  const specs = [
    { name: "name", label: "For whom", help: "So that you know later whose link it is" },
    { name: "last_day", label: "Open until (if you like)", type: "day" },
  ];
  const shows = [chosen.photos ? (chosen.crop ? "photos cut to their frames" : "photos") : "no photos", chosen.place ? "the site’s name" : "not the site’s name"];
  return [
    element(
      "p",
      { id: "what-is-shared" },
      `${capital(reportInWords(store, { report: chosen.report, cultivar_id: chosen.cultivar, other_trial_id: chosen.other }, trial))}; with ${shows.join(", ")}. `,
      link(`#/review/reports/${trial.id}`, {}, "Choose another"),
    ),
    form(specs, {}, make, { words: "Make the link" }),
  ];
}

function newLink(notices, { urls, lan }) {
  return [
    element("h2", {}, "The new link"),
    element("p", {}, "It is shown this once. Whoever passes it on passes the report on."),
    element("h3", {}, "To read on a screen"),
    addressesToCopy(notices, urls.html),
    element("h3", {}, "As PDF"),
    addressesToCopy(notices, urls.pdf),
    element(
      "p",
      { class: "quiet" },
      lan
        ? "The reader’s device must be in the same network. It warns once unless it trusts the journal’s certificate."
        : "The journal is open to this computer only, so only a browser on it can read this. For others, start it with “journal-server serve --lan” and make a link then; or save the report and send the file.",
    ),
  ];
}

function linkList(context, { links }, show) {
  const open = links.filter(({ revoked_at: at, over }) => !at && !over);
  return [
    element("h2", {}, "Shared reports"),
    open.length
      ? element("ul", { class: "rows" }, open.map((one) => element("li", { class: "row" }, linkWords(context.journal.store, one), ways(context, one, show))))
      : element("p", { class: "quiet" }, "None is shared."),
  ];
}

function linkWords(store, { name, trial_id: trialId, details, last_used_at: used, last_day: lastDay }) {
  const facts = [`as of ${dayInWords(details.made_on)}`, used ? `last opened on ${dayInWords(used)}` : "not opened yet", lastDay && `open until ${dayInWords(lastDay)}`];
  return element("span", {}, `${name}: ${reportInWords(store, details, store.get("trial", trialId))}. `, element("span", { class: "quiet" }, capital(facts.filter(Boolean).join("; "))));
}

function reportInWords(store, details, trial) {
  return `${trial ? trialInWords(trial) : "a trial that is gone"}, ${REPORT_WORDS[details.report]?.(store, details) ?? details.report}`;
}

function ways({ journal: { server }, notices }, { id, name }, show) {
  const done = async (call, words) => {
    try {
      show(await call());
      notices.say(words);
    } catch (problem) {
      notices.say(problem.message);
    }
  };
  const close = async () => {
    if (!(await confirmed(`Close the link of “${name}”?`, "It opens nothing from now on. Another can be made at any time.", "Close it"))) return;
    await done(() => server.deleteJson(`${PATH}/${id}`), `The link of “${name}” is closed.`);
  };
  return element(
    "span",
    { class: "ways" },
    button("Bring up to date", () => done(() => server.postJson(`${PATH}/${id}`, {}), `The link of “${name}” shows the report as of today.`), { "aria-label": `Bring the report of ${name} up to date` }),
    button("Close it", close, { "aria-label": `Close the link of ${name}` }),
  );
}
