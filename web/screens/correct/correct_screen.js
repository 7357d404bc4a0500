/** Correcting a photo by hand: painting over what was counted where it is wrong. Saved as a record, with or without a signal. */

import { button, element, freshId, link } from "../dom.js";
import { correctionInForce, correctionsOf } from "../../store/corrections.js";
import { newId } from "../../store/ids.js";
import { currentMeasurements, describePlanting } from "../../store/queries.js";
import { localDay } from "../../store/walk.js";
import { pictureAddress } from "../../store/waiting_pictures.js";
import { cultivarInWords, dayInWords } from "../../words.js";
import { roleNote } from "../role_note.js";
import { CLASSES, SIZES } from "./brushes.js";
import { Easel } from "./easel.js";
import { Painting } from "./strokes.js";
import { paintTools, viewTools } from "./tools.js";
import { photoNotHere } from "../not_here.js";

const RATER = "rater";
const MISSING = {
  picture: "The picture of this photo is not on this device, and the journal cannot be asked now. Nothing is lost; come back when it can be reached.",
  overlay: "What was counted is not on this device, so that only the photo is shown. You can paint all the same.",
};
const FULL =
  "One correction holds no more strokes. All that is painted is safe: save it, or take some back and paint with a broader brush.";
const NEARLY_FULL = 0.85;
const DRAFT = "Goes on where you were; it is not saved yet.";

const draftOf = (photoId) => `painting of ${photoId}`;

export async function correctScreen(context, { id }) {
  const { journal } = context;
  const photo = journal.store.get("photo", id);
  if (!photo) return photoNotHere();
  const [draft, name] = await Promise.all([journal.device.get(draftOf(id)), journal.device.get(RATER)]);
  return new CorrectScreen(context, photo, draft, name ?? "").view();
}

class CorrectScreen {
  constructor(context, photo, draft, name) {
    const { store } = context.journal;
    Object.assign(this, { context, photo });
    this.saved = correctionInForce(store, photo.id);
    this.painting = new Painting(draft ?? this.saved?.fields.strokes ?? []);
    this.status = element("p", { class: "easel-status", role: "status" }, draft ? DRAFT : "");
    this.brushTold = element("p", { class: "unseen", role: "status" });
    this.problem = element("p", { class: "field-problem", role: "alert" });
    this.byField = textField("Corrected by (may stay empty)", name || (this.saved?.fields.corrected_by ?? ""), 60);
    this.noteField = textField("Note (may stay empty)", this.saved?.fields.note ?? "", 2000);
    const measurement = currentMeasurements(store).get(photo.id) ?? null;
    const shown = {
      picture: pictureAddress(photo.id, "screen"),
      overlay: overlayOf(photo, measurement),
      frame: measurement?.fields.frame_polygon ?? null,
    };
    this.easel = new Easel(photo.fields, shown, this.painting, {
      changed: () => this.#changed(),
      chosen: () => this.#chosen(),
      full: () => this.#say(FULL),
      missing: (what) => this.#say(MISSING[what]),
    });
    this.tools = paintTools(this.easel, this.painting);
  }

  view() {
    const known = describePlanting(this.context.journal.store, this.photo.fields.planting_id);
    const what = [known && cultivarInWords(known.cultivar), dayInWords(this.photo.fields.taken_at)].filter(Boolean).join(" · ");
    return {
      title: `Correct ${known?.name ?? "a photo"}`,
      wide: true,
      leave: () => this.easel.leave(),
      nodes: [
        element(
          "header",
          { class: "paint-head" },
          element("h1", {}, "Correct by hand"),
          element("p", { class: "quiet" }, link(`#/photos/${this.photo.id}`, {}, what)),
        ),
        roleNote(this.context),
        viewTools(this.easel, Boolean(this.easel.overlay)),
        element("div", { class: "easel-place" }, this.easel.stage, this.status),
        this.easel.keysNode,
        this.brushTold,
        element(
          "div",
          { class: "action-bar paint-bar" },
          this.tools.node,
          button("Save the correction", () => this.#save(), { class: "primary", id: "save-correction" }),
          this.problem,
        ),
        this.#about(),
      ],
    };
  }

  #about() {
    return element(
      "details",
      { id: "about-correcting" },
      element("summary", {}, "Your name, a note, and how this counts"),
      element(
        "div",
        { class: "stack paint-about" },
        this.byField,
        this.noteField,
        element(
          "p",
          { class: "quiet" },
          "Paint what was counted wrongly: flowers that were taken for leaves, a neighbour’s leaves, the label. Two fingers move and enlarge the photo. " +
            "What you paint is taken as it is; the rest stays as it was measured. The photo gets a new measurement, marked as corrected by hand, and the old one is kept.",
        ),
      ),
    );
  }

  #say(words) {
    this.status.textContent = words;
  }

  #chosen() {
    this.tools.update();
    const painted = CLASSES.find(({ name }) => name === this.easel.brush.name).words;
    const brush = SIZES[this.easel.brush.size].words.toLowerCase();
    this.brushTold.textContent = `Painting “${painted}” with the ${brush} brush.`;
  }

  /** Kept on this device with every stroke, so that leaving the screen or a closed browser loses none. */
  #changed() {
    this.tools.update();
    this.problem.textContent = "";
    const { fullness } = this.painting;
    this.#say(fullness > NEARLY_FULL ? `Room for strokes: ${Math.round((1 - fullness) * 100)} % left.` : "");
    this.#keepDraft(this.painting.strokes);
  }

  #keepDraft(strokes) {
    this.context.journal.device
      .set(draftOf(this.photo.id), strokes)
      .catch(() => this.#say("This device has no room to keep what is painted until it is saved. Save it soon."));
  }

  async #save() {
    const { journal } = this.context;
    const changes = this.#changes();
    if (!changes.length) {
      this.problem.textContent = "Nothing is painted yet: paint over what was counted wrongly, then save.";
      return;
    }
    try {
      const refused = await journal.applyChanges(changes);
      if (refused.length) {
        this.problem.textContent = refused.map(({ message }) => message).join(" ");
        return;
      }
      await journal.device.set(RATER, valueOf(this.byField));
      await journal.device.set(draftOf(this.photo.id), undefined);
      this.context.notices.say(
        this.painting.strokes.length
          ? "Correction saved. The photo is measured anew; the measurement before is kept."
          : "The correction is taken back; the numbers from before count again.",
      );
      this.context.go(`#/photos/${this.photo.id}`);
    } catch (caught) {
      this.problem.textContent = caught.message;
    }
  }

  /** A new record takes the place of the ones before, so that two phones never edit the same strokes. */
  #changes() {
    const { store } = this.context.journal;
    const before = correctionsOf(store, this.photo.id).map(({ id }) => ({ kind: "correction", id, delete: true }));
    const { strokes } = this.painting;
    if (!strokes.length) return before;
    const fields = {
      photo_id: this.photo.id,
      strokes,
      corrected_by: valueOf(this.byField) || null,
      corrected_on: localDay(new Date()),
      note: valueOf(this.noteField) || null,
    };
    return [{ kind: "correction", id: newId(), fields }, ...before];
  }
}

/** The class map as the method alone drew it: what is painted goes over that. */
function overlayOf(photo, measurement) {
  if (!measurement) return null;
  const { numbers, inputs_hash: inputsHash } = measurement.fields;
  const hash = numbers.by_hand?.uncorrected_inputs_hash ?? inputsHash;
  return `/api/photos/${photo.id}/classes?size=screen&of=${hash}`;
}

function textField(words, value, longest) {
  const id = freshId("correct");
  return element(
    "div",
    { class: "field" },
    element("label", { for: id }, words),
    element("input", { id, type: "text", autocomplete: "off", maxlength: longest, value }),
  );
}

const valueOf = (field) => field.querySelector("input").value.trim();
