/** The photos taken at this visit: kept the moment they are taken, looked over, taken again, thrown away. */

import { button, element, live, redraw } from "../dom.js";
import { byMoment } from "../../store/queries.js";
import { belongsHere } from "../../store/walk.js";
import { countInWords } from "../../words.js";
import { confirmed } from "../set_up/confirm.js";
import { walkThumb } from "./thumb.js";

export class Taken {
  /** What the look-over said of each photo, until a person answers: photo id to sentences. */
  #checks = new Map();
  #replacing = null;

  /**
   * @param {{visit: Object, told: Object, journal: Object}} parts
   * @param {{check: (photo: Object) => Promise<{code: string, message: string}[]>, openCamera: () => void}} ways
   */
  constructor({ visit, told, journal }, ways) {
    Object.assign(this, { visit, told, journal, ways });
    this.node = live(visit.store, ["photo"], () => this.#draw(), { class: "taken" });
    /** Stands at the thumb, so that it is seen at once and answered with one tap. */
    this.remarks = live(visit.store, ["photo"], () => this.#allRemarks(), { class: "taken" });
  }

  get photos() {
    return this.visit
      .all("photo")
      .filter(belongsHere)
      .sort(byMoment);
  }

  /** Keeps a photo on the phone; the one it replaces goes only after that. @param {Object} photo as journal.addPhoto takes it */
  async keep(photo) {
    if (!photo.bytes.byteLength)
      return this.told.failed("The camera gave an empty picture, so nothing was saved. Take it again, or use the phone’s own camera.");
    const old = this.#replacing;
    let id = null;
    const work = async () => {
      id ??= await this.visit.addPhoto(photo);
      this.#replacing = null;
      if (old) await this.#throwAway(old);
      this.#lookOver(id, photo);
    };
    await this.told.keep(work, () => `Photo saved on this phone: ${countInWords(this.photos.length, "photo")} here.`);
  }

  async #lookOver(id, photo) {
    const remarks = await this.ways.check(photo).catch(() => []);
    if (remarks.length) this.#checks.set(id, remarks);
    this.#again();
  }

  #again() {
    redraw(this.node, this.#draw());
    redraw(this.remarks, this.#allRemarks());
  }

  #draw() {
    const photos = this.photos;
    const strip = element(
      "ul",
      { class: "taken-strip", "aria-label": "Photos taken here" },
      photos.map((photo, at) => this.#small(photo, at)),
    );
    return photos.length ? [strip] : [];
  }

  #allRemarks() {
    return [this.photos.map((photo, at) => this.#remarksOn(photo, at)), this.#replacingLine()];
  }

  #small(photo, at) {
    const name = `Photo ${at + 1}`;
    return element(
      "li",
      {},
      element(
        "button",
        { type: "button", class: "look-at", id: `look-${photo.id}`, "aria-label": `Look at photo ${at + 1}`, onclick: () => this.#look(photo, name) },
        walkThumb(this.journal, photo),
        element("span", {}, this.#checks.has(photo.id) ? `${name}: look` : name),
      ),
    );
  }

  #replacingLine() {
    if (!this.#replacing) return null;
    const stop = () => {
      this.#replacing = null;
      this.#again();
    };
    return element(
      "div",
      { class: "ways" },
      element("p", { role: "status" }, "The next photo takes the place of the one to take again."),
      button("Keep both", stop),
    );
  }

  #remarksOn(photo, at) {
    const remarks = this.#checks.get(photo.id);
    if (!remarks) return null;
    const keep = () => {
      this.#checks.delete(photo.id);
      this.#again();
    };
    return element(
      "div",
      { class: "photo-check", role: "status" },
      remarks.map(({ message }) => element("p", {}, `Photo ${at + 1}: ${message}`)),
      element(
        "div",
        { class: "ways" },
        button("Take again", () => this.#takeAgain(photo), { id: `again-${photo.id}`, class: "strong" }),
        button("Keep anyway", keep, { id: `keep-${photo.id}` }),
      ),
    );
  }

  #takeAgain(photo) {
    this.#checks.delete(photo.id);
    this.#replacing = photo;
    this.#again();
    this.ways.openCamera();
  }

  #look(photo, name) {
    const close = () => dialog.close();
    const again = () => {
      close();
      this.#takeAgain(photo);
    };
    const remove = async () => {
      close();
      if (await confirmed("Delete this photo?", whatDeletingDoes(photo), "Delete"))
        await this.told.keep(() => this.#throwAway(photo), "Photo deleted.");
    };
    const dialog = element(
      "dialog",
      { class: "look-closely", "aria-label": name, onclose: () => dialog.remove() },
      element("img", { src: this.journal.pictureAddress(photo.id, "screen"), alt: name }),
      element(
        "div",
        { class: "ways" },
        button("Close", close, { class: "strong" }),
        button("Take again", again),
        button("Delete", remove, { id: "delete-photo" }),
      ),
    );
    document.body.append(dialog);
    dialog.showModal();
  }

  /** One that waits on the phone goes; one that was sent is set aside, which can be undone on its page. */
  async #throwAway(photo) {
    this.#checks.delete(photo.id);
    const now = this.visit.store.get("photo", photo.id);
    if (!now) return;
    if (now.fields.waiting) await this.journal.removeWaiting(photo.id);
    else await this.visit.note([{ kind: "photo", id: photo.id, fields: { set_aside: true } }]);
  }
}

const whatDeletingDoes = (photo) =>
  photo.fields.waiting
    ? "It has not been sent yet, so it cannot be brought back."
    : "It was already sent: it is set aside, and can be taken back under Today, photos set aside.";
