/** The journal as screens know it: records to read, ways to note, photos to add. Everything is on this device first. No DOM. */

import { FeedPages } from "../store/feed_pages.js";
import { StorageFull } from "../store/database.js";
import { Outbox } from "../store/outbox.js";
import { DeviceValues } from "../store/device_values.js";
import { WaitingPictures, pictureAddress, soundAddress } from "../store/waiting_pictures.js";
import { newId } from "../store/ids.js";
import { hashOf } from "../store/sha256.js";
import { localMoment } from "../store/walk.js";
import { changesEntry, photoEntry, recordingEntry } from "./entries.js";
import { AnotherJournal, Feed } from "./feed.js";
import { Queue } from "./queue.js";
import { Sender } from "./sender.js";
import { ServerRefused, ServerUnreachable } from "./server.js";
import { oneSender } from "./one_sender.js";
import { otherTabs } from "./other_tabs.js";
import { DeviceRoom } from "./device_room.js";

/** So long a form waits for the server's word before it goes on and leaves the rest to the queue. */
const FORM_WAITS_MS = 4000;

/** The camera or the recorder gave nothing. */
export class NothingCaptured extends Error {
  constructor(what) {
    super(
      `The ${what} came out empty (0 bytes), so there was nothing to keep. Everything else is safe: take it again.`,
    );
  }
}

export class Journal {
  #outbox;
  #sender;
  #feed;
  #room;
  #alone;
  #pictures;
  #tabs;
  #makeRoom;
  #syncing = null;
  #again = false;
  #inFiles = false;

  /**
   * @param {import("../store/record_store.js").RecordStore} store @param {import("./server.js").Server} server
   * @param {import("../store/database.js").Database} database
   * @param {{locks?: LockManager, storage?: StorageManager, Channel?: typeof BroadcastChannel,
   *   makeRoom?: () => Promise<void>, clock?: Object, random?: () => number}} [device]
   */
  constructor(
    store,
    server,
    database,
    { locks, storage, Channel, makeRoom, clock = globalThis, random = Math.random } = {},
  ) {
    Object.assign(this, { store, server, clock });
    this.#makeRoom = makeRoom;
    this.#outbox = new Outbox(database);
    this.#pictures = new WaitingPictures(this.#outbox);
    this.device = new DeviceValues(database);
    this.queue = new Queue({ outbox: this.#outbox, store, pictures: this.#pictures });
    this.#tabs = otherTabs(database.isLasting ? Channel : undefined, {
      outbox: () => this.queue.reload().then(() => this.#readPictures()),
      feed: () => this.#feed.readOn(),
    });
    this.#feed = new Feed({
      store,
      server,
      pages: new FeedPages(database),
      arrived: () => this.#tabs.tell("feed"),
    });
    this.#room = new DeviceRoom(storage);
    this.#alone = oneSender({ locks, database, me: newId(), clock: { ...timers(clock), now: Date.now } });
    this.#sender = new Sender({
      outbox: this.#outbox,
      server,
      answered: (records) => store.receive(records),
      settled: (outcome) => this.#settled(outcome),
      progress: (part) => this.#progress(part),
      now: Date.now,
      random,
    });
    this.queue.onChange = () => {
      this.#tabs.tell("outbox");
      this.syncNow().catch(() => {});
    };
    this.queue.say({ lasting: database.isLasting });
  }

  /** Reads what this device holds. @returns {Promise<boolean>} whether the journal was ever used here */
  async open() {
    const cursor = await this.#feed.load();
    await this.queue.reload();
    const lastSyncAt = (await this.#feed.lastSyncAt()) ?? null;
    this.queue.say({ lastSyncAt });
    this.#readPictures();
    this.#lookAtRoom();
    return cursor > 0 || lastSyncAt !== null || this.queue.entries.length > 0;
  }

  /** Brings every record that changed since the last time. Calls that overlap share one round. */
  async pull() {
    try {
      await this.#feed.pull();
      this.#reached("yes");
    } catch (problem) {
      this.#reached(reachAfter(problem));
      throw problem;
    }
  }

  /** Sees and keeps changes at once; resolves when they are on this device's disk. @param {import("../store/record_store.js").Change[]} changes */
  async note(changes) {
    if (!changes.length) return;
    await this.#keep(changesEntry(this.store, changes, localMoment(new Date())));
    this.#room.askToKeep();
  }

  /**
   * For forms: keeps the changes like `note`, then waits a little for the server's word.
   *
   * @returns {Promise<{id: string, field: string | null, message: string}[]>} what was refused, and is then not kept: the
   *   form still holds it. Empty when all went well, or when it waits because the server cannot be reached now
   */
  async applyChanges(changes) {
    if (!changes.length) return [];
    const entry = await this.#keep(changesEntry(this.store, changes, localMoment(new Date())));
    await this.#heardOf(entry.key);
    const refused = this.queue.entries.find(({ key }) => key === entry.key)?.attention?.problems ?? [];
    const clashes = this.queue.conflicts.filter((conflict) => conflict.entry === entry.key);
    if (refused.length || clashes.length) await this.queue.takeBack(entry.key);
    return [...refused, ...clashes.map(clashInWords)];
  }

  /**
   * @param {{bytes: ArrayBuffer, mime: string, fileName: string, takenAt: string, visitId?: string, plantingId?: string,
   *   how: string, thumb?: ArrayBuffer}} photo
   * @returns {Promise<string>} its id, once its bytes are on this device's disk
   */
  addPhoto(photo) {
    return this.#addFile(photo, photoEntry, "photo");
  }

  /** @param {{bytes: ArrayBuffer, mime: string, seconds: number, recordedAt: string, visitId?: string, plantingId?: string}} recording */
  addRecording(recording) {
    return this.#addFile(recording, recordingEntry, "recording");
  }

  async #addFile(file, entryOf, what) {
    if (!file.bytes?.byteLength) throw new NothingCaptured(what);
    const id = newId();
    const sha256 = await hashOf(file.bytes);
    const { bytes, thumb } = file;
    await this.#keep(entryOf({ ...file, id, sha256 }, localMoment(new Date())), { bytes, thumb });
    await this.#room.askToKeep();
    this.#lookAtRoom();
    return id;
  }

  /** On a full device the server's pictures go first: they can be had again. */
  async #keep(entry, file = null) {
    try {
      return await this.queue.add(entry, file);
    } catch (problem) {
      if (!(problem instanceof StorageFull) || !this.#makeRoom) throw problem;
      await this.#makeRoom();
      return this.queue.add(entry, file);
    }
  }

  /** Throws away a photo or recording that was not sent; one that was is set aside or deleted by a change instead. */
  async removeWaiting(id) {
    const entry = this.queue.entries.find((one) => one.id === id);
    if (entry) await this.queue.drop(entry.key);
  }

  /** Where a picture can be had now; while it waits, here. @param {string} photoId @param {"thumb" | "screen"} size */
  pictureAddress(photoId, size) {
    return pictureAddress(photoId, size);
  }

  soundAddress(recordingId) {
    return soundAddress(recordingId);
  }

  /** Lets photos whose measuring failed be measured once more. */
  async measureAgain(photoIds) {
    await this.server.postJson("/api/measure-again", { photo_ids: photoIds });
    await this.pull();
  }

  /**
   * One round with the server: what is new comes, what waits goes. Calls that overlap share one round.
   *
   * @param {{fromPerson?: boolean}} [how] a person who asks does not wait for the next try
   * @throws when the server could not be reached or did not let this device in
   */
  syncNow({ fromPerson = false } = {}) {
    if (fromPerson) this.#sender.forgetWaits();
    this.#again = true;
    if (this.#syncing && this.#inFiles) this.#sender.sendChanges().catch(() => {});
    this.#syncing ??= this.#rounds();
    return this.#syncing;
  }

  /** When something waits for its next try, how long yet, in ms; else null. */
  get nextTryInMs() {
    return this.#sender.nextTryInMs;
  }

  /**
   * Another journal is served at this address now: what waits for the old one is thrown away, and the next round begins
   * the new one's feed from nothing. Only ever asked for by a person.
   */
  async openTheOther() {
    await this.queue.dropAll();
    await this.syncNow();
  }

  /** Ends, and can be begun anew, in one go: whoever asks is either still in this run or begins the next. */
  async #rounds() {
    try {
      while (this.#again) {
        this.#again = false;
        this.#feed.mayStartAnew = !this.queue.entries.length && !this.queue.conflicts.length;
        await this.pull();
        if (this.queue.entries.length) await this.#send();
        this.queue.say({ lastSyncAt: await this.#feed.markSynced(new Date().toISOString()) });
      }
    } finally {
      this.#syncing = null;
    }
  }

  async #send() {
    try {
      await this.#alone(async () => {
        this.#inFiles = true;
        this.#progress({ done: 0 });
        await this.#sender.sendAll();
      });
    } catch (problem) {
      this.#reached(reachAfter(problem));
      throw problem;
    } finally {
      this.#inFiles = false;
      this.queue.say({ sending: null });
      this.#lookAtRoom();
    }
  }

  async #settled({ records }) {
    await this.queue.reload();
    this.#tabs.tell("outbox");
    if (records?.length) this.#tabs.tell("feed");
  }

  #progress({ done }) {
    const before = this.queue.state.sending?.done ?? 0;
    const after = before + done;
    this.queue.say({ sending: { done: after, of: after + this.queue.state.waiting } });
  }

  #reached(reach) {
    if (reach) this.queue.say({ reach, clockOffSeconds: this.server.clockOffSeconds });
  }

  /** Resolves when the entry is settled, or when there is no use in waiting longer. */
  #heardOf(key) {
    return new Promise((resolve) => {
      const settled = () => {
        const entry = this.queue.entries.find((one) => one.key === key);
        if (!entry || entry.attention || this.queue.conflicts.some((one) => one.entry === key)) done();
      };
      const stop = this.queue.watch(settled);
      const timer = this.clock.setTimeout(() => done(), FORM_WAITS_MS);
      const done = () => {
        this.clock.clearTimeout(timer);
        stop();
        resolve();
      };
      settled();
      this.syncNow().catch(done);
    });
  }

  #readPictures() {
    this.#pictures
      .readAll(this.queue.entries, () => this.store.touch(["photo", "recording"]))
      .catch(() => {});
  }

  async #lookAtRoom() {
    this.queue.say({ room: await this.#room.look() });
  }
}

const timers = (clock) => ({
  setInterval: (...all) => clock.setInterval(...all),
  clearInterval: (...all) => clock.clearInterval(...all),
});

function reachAfter(problem) {
  if (problem instanceof ServerUnreachable) return "no";
  if (problem instanceof AnotherJournal) return "another journal";
  if (problem instanceof ServerRefused) return problem.status === 401 ? "not paired" : "yes";
  return null;
}

function clashInWords({ id, field, theirs }) {
  return {
    id,
    field,
    message: `Someone else changed this to “${theirs ?? "nothing"}” meanwhile. Save again to keep yours.`,
  };
}
