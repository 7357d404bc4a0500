/** Two dates of one planting: the photos over each other or side by side, and what changed. */

import { button, element, freshId, link, redraw } from "../dom.js";
import { describePlanting, photosByPlanting } from "../../store/queries.js";
import { pictureAddress } from "../../store/waiting_pictures.js";
import { cultivarInWords, dayInWords, shortDayInWords, weekInWords } from "../../words.js";
import { cultivarName } from "../names.js";
import { chooser } from "../chooser.js";
import { problemNote } from "../problem.js";
import { pairButton } from "../copy/photo_ways.js";
import { asOf } from "../figure.js";
import { ServerUnreachable } from "../../sync/server.js";
import { datesAddress, pairQuery, registeredAddress, registrationAddress } from "../../store/comparison_addresses.js";
import { differenceTable } from "./difference_table.js";
import { ownNumbers } from "./own_numbers.js";
import { photoSlider, sideBySide } from "./photo_slider.js";

export function twoDatesScreen(context, { planting: id, first, second }) {
  const { store } = context.journal;
  const known = describePlanting(store, id);
  const photos = (photosByPlanting(store).get(id) ?? []).filter((photo) => !photo.fields.waiting);
  if (!known || photos.length < 2) return nothingToCompare(known, id);
  const chosen = pairToShow(photos, first, second);
  const place = element("div", { class: "two-dates" });
  const show = () => redraw(place, pair(context, chosen));
  show();
  return {
    title: `Two dates of ${known.name}`,
    wide: true,
    nodes: [
      element(
        "header",
        {},
        element("h1", {}, cultivarName(known.cultivar)),
        element("p", { class: "quiet" }, whereItStands(known), link(`#/plantings/${id}`, {}, "the planting")),
      ),
      choosers(photos, known, chosen, show),
      place,
    ],
  };
}

const whereItStands = ({ planter, season }) =>
  ["Two dates", planter?.fields.name, season].filter(Boolean).map((word) => `${word} · `).join("");

/** The two photos named, in order of time; for one that is not named the first or last of the season stands in. */
function pairToShow(photos, first, second) {
  const named = (id) => photos.find((photo) => photo.id === id);
  const later = named(second) ?? photos.findLast((photo) => photo.id !== first);
  const earlier = named(first) ?? photos.find((photo) => photo.id !== later.id);
  const [one, other] = [earlier, later].sort((a, b) => photos.indexOf(a) - photos.indexOf(b));
  return { first: one, second: other };
}

function nothingToCompare(known, id) {
  return {
    title: "Two dates",
    nodes: [
      element("h1", {}, known ? cultivarName(known.cultivar) : "This planting is not in the journal"),
      known && element("p", {}, "It needs two photos before two dates can be compared."),
      element("p", {}, known ? link(`#/plantings/${id}`, {}, "The planting") : link("#/compare", {}, "Compare")),
    ].filter(Boolean),
  };
}

function choosers(photos, known, chosen, show) {
  const day = ({ fields }) => fields.taken_at?.slice(0, 10);
  const clock = (photo) =>
    photo.fields.taken_at && photos.some((other) => other !== photo && day(other) === day(photo))
      ? photo.fields.taken_at.slice(11, 16)
      : "";
  const words = (photo) =>
    [
      shortDayInWords(photo.fields.taken_at),
      clock(photo),
      weekInWords(known.planting.fields.planted_on, photo.fields.taken_at),
    ]
      .filter(Boolean)
      .join(", ");
  const one = (which, label) => {
    const options = photos.map((photo) => [photo.id, words(photo)]);
    const select = chooser(options, chosen[which].id, (event) => {
      chosen[which] = photos.find((photo) => photo.id === event.target.value);
      history.replaceState(
        null,
        "",
        `#/compare/dates/${known.planting.id}?first=${chosen.first.id}&second=${chosen.second.id}`,
      );
      show();
    });
    select.id = freshId(which);
    return element("div", {}, element("label", { for: select.id }, label), select);
  };
  return element("div", { class: "filters" }, one("first", "Earlier photo"), one("second", "Later photo"));
}

function pair({ journal, units }, { first, second }) {
  if (first.id === second.id) return element("p", {}, "These are the same photo; choose two different ones.");
  const query = pairQuery({ first, second });
  const known = describePlanting(journal.store, first.fields.planting_id);
  return [
    element("div", { class: "look" }, pictures(journal.server, query, first, second, known)),
    element("section", { class: "read" }, element("h2", {}, "What changed"), changes(journal, units, { first, second })),
  ];
}

function pictures(server, query, first, second, known) {
  const [earlier, later] = [first, second].map((photo) => ({
    address: pictureAddress(photo.id, "screen"),
    small: pictureAddress(photo.id, "thumb"),
    words: dayInWords(photo.fields.taken_at),
    width: photo.fields.width,
    height: photo.fields.height,
  }));
  const stage = element("div", { "aria-busy": "true" }, sideBySide(earlier, later));
  const words = element("p", { class: "quiet says", role: "status" }, "Laying the photos over each other …");
  const views = element("div", { class: "ways", role: "group", "aria-label": "How to see them", hidden: true });
  const line = () => {
    const at = stage.querySelector("input[type=range]")?.value;
    return at === undefined ? null : { at: Number(at), laidOver: registeredAddress(query) };
  };
  lay();
  const copied = [first, second].map((photo, at) => captioned([earlier, later][at], photo, known));
  return [stage, views, words, element("div", { class: "ways" }, pairButton(...copied, titleOf(known), line))];

  async function lay() {
    stage.setAttribute("aria-busy", "true");
    try {
      const found = await server.getJson(registrationAddress(query));
      redraw(words, found.words);
      if (found.matrix) offerBoth({ ...later, address: registeredAddress(query) });
    } catch (problem) {
      redraw(words, problem instanceof ServerUnreachable ? NOT_LAID_OVER : problemNote(problem, lay));
    }
    stage.removeAttribute("aria-busy");
  }

  function offerBoth(registered) {
    const beside = () => choose(1, sideBySide(earlier, later));
    const over = () =>
      choose(
        0,
        photoSlider(earlier, registered, () => {
          redraw(words, "A picture did not come; the photos are shown side by side.");
          beside();
        }),
      );
    const buttons = [
      button("Over each other", over, { id: "over" }),
      button("Side by side", beside, { id: "beside" }),
    ];
    const choose = (at, shown) => {
      buttons.forEach((node, index) => node.setAttribute("aria-pressed", String(index === at)));
      redraw(stage, shown);
    };
    redraw(views, buttons);
    views.hidden = false;
    over();
  }
}

const titleOf = ({ cultivar, planter }) => [cultivarInWords(cultivar), planter?.fields.name].filter(Boolean).join(" in ");

/** A picture that leaves the page says beside its day how old the planting was. */
const captioned = (shown, { fields }, { planting }) => ({
  ...shown,
  words: [shown.words, weekInWords(planting.fields.planted_on, fields.taken_at)].filter(Boolean).join(", "),
});

const NOT_LAID_OVER =
  "The journal lays photos over each other, and it cannot be reached now; these two are shown side by side.";

function changes({ server, store }, units, chosen) {
  const place = element("div", { class: "changes" }, element("p", { class: "quiet" }, "Reading …"));
  const fill = async () => {
    try {
      const { answer, keptSince } = await server.getDated(datesAddress(pairQuery(chosen)));
      redraw(place, asOf(keptSince), differenceTable(answer));
    } catch (problem) {
      redraw(place, problem instanceof ServerUnreachable ? ownNumbers(store, units.now, chosen, fill) : problemNote(problem, fill));
    }
  };
  fill();
  return place;
}
