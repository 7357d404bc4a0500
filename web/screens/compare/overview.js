/** What can be compared: two dates of a planting, cultivars of a trial, one cultivar in places, years and tries. */

import { button, element, link, live, redraw } from "../dom.js";
import { photosByPlanting, plantingsInWalkOrder } from "../../store/queries.js";
import { countInWords, trialInWords } from "../../words.js";
import { choosePlanting } from "../choose_planting.js";
import { problemNote } from "../problem.js";

/** The ways to compare one cultivar with itself: the server's word, the heading, what to say when there is nothing. */
export const WAYS = {
  ground: ["In a container and in the ground", "No cultivar stands both in a container and in a bed."],
  light: ["In sun and in shade", "No cultivar stands in places of different light."],
  year: ["This year and earlier years", "No cultivar was grown in two years yet."],
  try: ["Tried again after a failure", "No cultivar that failed was planted a second time."],
};

export function compareScreen(context) {
  const { store, server } = context.journal;
  return {
    title: "Compare",
    nodes: [
      element("h1", {}, "Compare"),
      live(store, ["photo", "planting"], () => datesPart(context)),
      live(store, ["trial", "planting"], () => trialsPart(store)),
      waysPart(server),
    ],
  };
}

function datesPart({ journal, go }) {
  const { store } = journal;
  const photos = photosByPlanting(store);
  const seen = plantingsInWalkOrder(store).filter(({ id }) => (photos.get(id) ?? []).length > 1);
  const choose = async () => {
    const id = await choosePlanting(store, "Which planting?");
    if (id) go(`#/compare/dates/${id}`);
  };
  return element(
    "section",
    {},
    element("h2", {}, "Two dates of one planting"),
    seen.length
      ? [
          element("p", { class: "quiet" }, "The photos laid over each other, and what changed."),
          button("Choose a planting", choose, { id: "choose-planting" }),
        ]
      : element("p", { class: "quiet" }, "No planting has two photos yet."),
  );
}

function trialsPart(store) {
  const count = (trial) => {
    const own = plantingsInWalkOrder(store, trial.id);
    return new Set(own.map((planting) => planting.fields.cultivar_id)).size;
  };
  const rows = store
    .all("trial")
    .sort((a, b) => (b.fields.year ?? 0) - (a.fields.year ?? 0))
    .map((trial) => [trial, count(trial)])
    .filter(([, cultivars]) => cultivars > 1)
    .map(([trial, cultivars]) =>
      row(
        `#/compare/cultivar/${trial.id}`,
        trialInWords(trial),
        countInWords(cultivars, "cultivar"),
      ),
    );
  return element(
    "section",
    {},
    element("h2", {}, "Cultivars side by side"),
    rows.length
      ? element("ul", { class: "rows" }, rows)
      : element("p", { class: "quiet" }, "A trial needs two cultivars before they can be compared."),
  );
}

function waysPart(server) {
  const place = element("div", { class: "stack" }, element("p", { class: "quiet" }, "Reading …"));
  const fill = async () => {
    try {
      const { ways } = await server.getJson("/api/compare/choices");
      redraw(place, Object.entries(WAYS).map(([way, words]) => wayPart(way, words, ways[way] ?? [])));
    } catch (problem) {
      redraw(place, problemNote(problem, fill));
    }
  };
  fill();
  return place;
}

function wayPart(way, [heading, nothing], cultivars) {
  return element(
    "section",
    {},
    element("h2", {}, heading),
    cultivars.length
      ? element(
          "ul",
          { class: "rows" },
          cultivars.map(({ id, name, groups }) => row(`#/compare/${way}/${id}`, name, groups.join(" · "))),
        )
      : element("p", { class: "quiet" }, nothing),
  );
}

function row(href, name, words) {
  return element(
    "li",
    {},
    link(href, { class: "row" }, element("span", {}, name), element("span", { class: "quiet" }, words)),
  );
}
