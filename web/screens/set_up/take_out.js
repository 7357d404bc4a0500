/** Taking a trial out for other programs: its photos with what they show written into them, and its tables. */

import { element, link, redraw } from "../dom.js";
import { describePlanting, plantingsInWalkOrder } from "../../store/queries.js";
import { countInWords, cultivarInWords, megabytesInWords, trialInWords } from "../../words.js";
import { dayField, selectField, tickField } from "../file_in/choices.js";
import { noTrialScreen } from "../no_trial.js";

export function takeOutScreen({ journal: { store, server } }, { trial: trialId }) {
  const trial = store.get("trial", trialId);
  if (!trial) return noTrialScreen();
  const plantings = plantingsInWalkOrder(store, trialId);
  const parts = element(
    "div",
    { class: "stack columns" },
    photosPart(store, trialId, plantings),
    element("div", { class: "stack" }, tablesPart(trialId), elsewherePart(trialId)),
  );
  whatIsInTheWay(server).then((words) => words && redraw(parts, element("p", { role: "status" }, words)));
  return {
    title: "Take the trial out",
    wide: true,
    nodes: [
      element("h1", {}, "Take the trial out"),
      element("p", { class: "quiet" }, `${trialInWords(trial)}. For other programs; the journal stays as it is.`),
      plantings.length
        ? parts
        : element("p", {}, "No plantings yet. ", link(`#/set-up/trials/${trialId}/list`, {}, "Enter the plantings")),
    ],
  };
}

/** Said before anything is tapped: a download that is refused would be saved as if it were the archive. */
async function whatIsInTheWay(server) {
  try {
    const { role } = await server.getJson("/api/me");
    return role === "owner" ? "" : "Only the journal’s owner takes a trial out: what leaves may carry places and names. Open this on the owner’s device.";
  } catch (problem) {
    return `${problem.message} Taking out needs the journal itself.`;
  }
}

function photosPart(store, trialId, plantings) {
  const asked = { planting: "", from: "", until: "", place: false, owner: false };
  const count = element("p", { role: "status" });
  const take = link("", { class: "primary", download: "photos.zip", id: "take-photos-out" }, "Take the photos out (ZIP)");
  const tell = (name) => (value) => {
    asked[name] = value;
    show();
  };
  const show = () => {
    const photos = chosenPhotos(store, plantings, asked);
    const bytes = photos.reduce((sum, { fields }) => sum + (fields.bytes ?? 0), 0);
    count.textContent = photos.length ? `${countInWords(photos.length, "photo")}, about ${megabytesInWords(bytes)}.` : "No photo of that choice.";
    take.hidden = !photos.length;
    take.href = `/api/exports/photos.zip?${photosQuery(trialId, asked)}`;
  };
  const options = plantings.map(({ id }) => [id, plantingInWords(store, id)]);
  const part = element(
    "section",
    { class: "fields" },
    element("h2", {}, "Photos"),
    element(
      "p",
      {},
      "Each with its title, description, keywords and date written into it, so that other programs can search them. The picture itself is not touched; HEIC, PNG, WebP and TIFF become JPEG.",
    ),
    selectField("Plantings", [["", "all of the trial"], ...options], "", tell("planting")),
    dayField("From", "", tell("from")),
    dayField("Until", "", tell("until")),
    element(
      "fieldset",
      {},
      element("legend", {}, "What tells on people stays here, unless"),
      tickField("the place goes along (site and GPS)", false, tell("place")),
      tickField("owner, copyright and serial numbers of the camera go along", false, tell("owner")),
    ),
    count,
    element("div", { class: "ways" }, take),
  );
  show();
  return part;
}

function tablesPart(trialId) {
  const take = link("", { class: "primary", download: "miappe.zip", id: "take-tables-out" }, "Take the tables out (ZIP)");
  const aim = (place) => {
    take.href = `/api/exports/miappe.zip?${new URLSearchParams({ trial: trialId, ...(place && { place: "yes" }) })}`;
  };
  aim(false);
  return element(
    "section",
    { class: "fields" },
    element("h2", {}, "Tables in the terms of MIAPPE"),
    element(
      "p",
      {},
      "Studies, plantings, cultivars, variables and every observation with its interval, named as the open check-list for plant trials does, as CSV. A README says field by field where each comes from and what does not apply. People are not named.",
    ),
    tickField("The site goes along", false, aim),
    element("div", { class: "ways" }, take),
  );
}

function elsewherePart(trialId) {
  return element(
    "section",
    {},
    element("h2", {}, "Also"),
    element(
      "ul",
      { class: "rows" },
      element("li", {}, link(`#/season/${trialId}/numbers`, { class: "row" }, "The numbers as plain tables")),
      element("li", {}, link(`#/review/reports/${trialId}`, { class: "row" }, "Reports to read and print")),
    ),
  );
}

/** As the server chooses them: what is set aside stays, days are those of the place where the photo was taken. */
function chosenPhotos(store, plantings, { planting, from, until }) {
  const ids = new Set(planting ? [planting] : plantings.map(({ id }) => id));
  return store.all("photo").filter(({ fields }) => {
    if (fields.set_aside || !ids.has(fields.planting_id)) return false;
    const day = fields.taken_at?.slice(0, 10);
    return !(from || until) || (day && day >= (from || day) && day <= (until || day));
  });
}

function photosQuery(trialId, { planting, from, until, place, owner }) {
  const ticked = Object.fromEntries(Object.entries({ place, owner }).filter(([, on]) => on).map(([name]) => [name, "yes"]));
  return new URLSearchParams({ trial: trialId, ...(planting && { planting }), ...(from && { from }), ...(until && { until }), ...ticked });
}

function plantingInWords(store, id) {
  const { planter, cultivar } = describePlanting(store, id);
  return `${planter?.fields.name ?? ""}: ${cultivarInWords(cultivar)}`;
}
