/** Set-up: trials and what belongs to each, the cultivars, the settings. */

import { element, link, live } from "../dom.js";
import { plantersInWalkOrder, plantingsInWalkOrder } from "../../store/queries.js";
import { plansTogether } from "../../store/care.js";
import { countInWords } from "../../words.js";

export function setUpScreen({ journal }) {
  const { store } = journal;
  return {
    title: "Set-up",
    nodes: [
      element("h1", {}, "Set-up"),
      live(store, ["trial", "planter", "planting", "cultivar", "care_plan"], () => [trials(store), journalWide(store)], {
        class: "stack",
      }),
      element(
        "div",
        { class: "action-bar" },
        link(
          "#/set-up/trials/new",
          { class: store.all("trial").length ? "secondary" : "primary" },
          "New trial",
        ),
      ),
    ],
  };
}

function trials(store) {
  const all = store.all("trial").sort((a, b) => b.fields.year - a.fields.year);
  if (!all.length)
    return element("p", { class: "lead" }, "No trial yet. A trial is one season’s plantings at one place.");
  return all.map((trial) => trialPart(store, trial));
}

function trialPart(store, trial) {
  const planters = plantersInWalkOrder(store, trial.id).length;
  const plantings = plantingsInWalkOrder(store, trial.id).length;
  const base = `#/set-up/trials/${trial.id}`;
  return element(
    "section",
    {},
    element("h2", {}, trial.fields.title),
    element("p", { class: "quiet" }, [trial.fields.year, trial.fields.site].filter(Boolean).join(" · ")),
    ways([
      [`${base}/list`, "Enter plantings as a list", plantings ? "" : "begin here"],
      [
        `${base}/planters`,
        "Planters and plantings, in walking order",
        `${countInWords(planters, "planter")}, ${countInWords(plantings, "planting")}`,
      ],
      [`${base}/cards`, "Print the cards", ""],
      [`${base}/care`, "Planned care", planned(store, trial.id)],
      [`${base}/weather`, "Weather", "typed in, or from a file"],
      [base, "Change the trial", ""],
      ...(plantings ? seasonWays(store, trial, base) : []),
    ]),
  );
}

function seasonWays(store, trial, base) {
  const standing = plantingsInWalkOrder(store, trial.id).filter(({ fields }) => !fields.removed_on).length;
  return [
    [`${base}/end`, "End the season", standing ? `${countInWords(standing, "planting")} standing` : "nothing stands any more"],
    [`${base}/new-season`, "Begin a new season from this one", ""],
    [`${base}/export`, "Take the trial out", "photos and tables for other programs"],
  ];
}

function planned(store, trialId) {
  const count = plansTogether(store, trialId).length;
  return count ? String(count) : "none yet";
}

function journalWide(store) {
  return element(
    "section",
    {},
    element("h2", {}, "The whole journal"),
    ways([
      ["#/set-up/cultivars", "Cultivars", String(store.all("cultivar").length)],
      ["#/set-up/phones", "Phones", "let one in, shut one out"],
      ["#/set-up/calendar", "Calendar", "care due in your calendar"],
      ["#/set-up/backup", "Backup", "into a folder, by itself"],
      ["#/set-up/settings", "Settings", "units, time zone and more"],
    ]),
  );
}

function ways(list) {
  return element(
    "ul",
    { class: "rows" },
    list.map(([href, words, more]) =>
      element(
        "li",
        {},
        link(href, { class: "row" }, element("span", {}, words), element("span", { class: "quiet" }, more)),
      ),
    ),
  );
}
