/** Drawing the frame on one photo: drag corners, tap an edge for a new one, undo, save. */

import { button, element } from "./dom.js";
import { newId } from "../store/ids.js";
import { currentMeasurements, describePlanting, unframedPlantings } from "../store/queries.js";
import { countInWords, dayInWords } from "../words.js";
import { frameEditor } from "./frame_editor.js";
import { photoNotHere, plantingNotSaid } from "./not_here.js";

/** The address for drawing the frame of one planting after the other, beginning on this photo. */
export const frameInTurn = (photo) => `#/photos/${photo.id}/frame?then=next`;

export function frameScreen(context, { id, then }) {
  const { store } = context.journal;
  const photo = store.get("photo", id);
  const known = describePlanting(store, photo?.fields.planting_id);
  if (!photo) return photoNotHere();
  if (!known) return plantingNotSaid(photo);
  const problem = element("p", { class: "field-problem", role: "alert" });
  const editor = frameEditor(photo, startingPolygon(store, photo));
  const saved = () => save(context, photo, editor.polygon(), problem, then === "next");
  return {
    title: `Frame of ${known.name}`,
    wide: true,
    nodes: [
      element("h1", {}, "Draw the frame"),
      then === "next" && element("p", { class: "quiet" }, leftInWords(store, known.trial)),
      element(
        "p",
        {},
        `The part of the photo that ${known.name} is expected to fill. Drag the corners; tap an edge for one more.`,
      ),
      element("div", { class: "look" }, editor.node),
      problem,
      element(
        "p",
        { class: "quiet" },
        `Drawn on the photo of ${dayInWords(photo.fields.taken_at)}. It is carried to the other photos of this planting by what they show of planter, wall and card, and they are measured anew.`,
      ),
      element(
        "div",
        { class: "action-bar" },
        editor.tools,
        button("Save the frame", saved, { class: "primary", id: "save-frame" }),
      ),
    ],
  };
}

function leftInWords(store, trial) {
  const left = unframedPlantings(store, trial?.id).length;
  return `${countInWords(left, "planting")} without a frame.`;
}

const frameOn = (store, photo) =>
  store
    .all("frame")
    .find(
      (frame) => frame.fields.photo_id === photo.id && frame.fields.planting_id === photo.fields.planting_id,
    );

/** What was drawn here before, else what was carried here, else a rectangle a planter usually fills. */
function startingPolygon(store, photo) {
  const drawn = frameOn(store, photo)?.fields.polygon;
  const carried = currentMeasurements(store).get(photo.id)?.fields.frame_polygon;
  if (drawn ?? carried) return (drawn ?? carried).map(([x, y]) => [x, y]);
  const { width, height } = photo.fields;
  return [
    [0.1, 0.25],
    [0.9, 0.25],
    [0.9, 0.75],
    [0.1, 0.75],
  ].map(([x, y]) => [x * width, y * height]);
}

async function save({ journal, notices, go }, photo, polygon, problem, inTurn) {
  problem.textContent = "";
  const fields = { planting_id: photo.fields.planting_id, photo_id: photo.id, polygon };
  try {
    const refused = await journal.applyChanges([
      { kind: "frame", id: frameOn(journal.store, photo)?.id ?? newId(), fields },
    ]);
    if (refused.length) {
      problem.textContent = refused.map(({ message }) => message).join(" ");
      return;
    }
    notices.say("Frame saved. The photos of this planting are measured anew.");
    go(inTurn ? nextInTurn(journal.store, photo) : `#/photos/${photo.id}`);
  } catch (caught) {
    problem.textContent = caught.message;
  }
}

function nextInTurn(store, photo) {
  const { trial_id: trialId } = store.get("planting", photo.fields.planting_id).fields;
  const [next] = unframedPlantings(store, trialId);
  return next ? frameInTurn(next.photo) : "#/";
}
