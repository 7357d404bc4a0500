/** What a person writes or says about the planting. */

import { button, element, freshId, live, redraw } from "../dom.js";
import { countInWords } from "../../words.js";
import { deleteWithUndo } from "../undo.js";
import { confirmed } from "../set_up/confirm.js";

const REST_MS = 1200;
const LONGEST = 4000;
const LONGEST_SECONDS = 300;

/** @returns {{node: Node, leave: () => void}} what was typed is kept after a short rest, and on leaving */
export function writtenRemark({ visit, told }) {
  const id = freshId("remark");
  const kept = () => visit.record?.fields.remark ?? "";
  const input = element("textarea", { id, rows: 2, maxlength: LONGEST, value: kept() });
  let resting;
  const save = () => {
    clearTimeout(resting);
    const remark = input.value.trim();
    if (remark === kept()) return;
    told.keep(() => visit.note([], { remark }), remark ? "Remark saved on this phone." : "Remark taken away.");
  };
  input.addEventListener("input", () => {
    clearTimeout(resting);
    resting = setTimeout(save, REST_MS);
  });
  input.addEventListener("change", save);
  const node = element("div", { class: "field" }, element("label", { for: id }, "In writing"), input);
  return { node, leave: save };
}

/**
 * @param {{visit: Object, told: Object, journal: Object}} parts
 * @param {new () => Object} Recorder
 * @returns {{node: Node, leave: () => void}} a recording under way is ended and kept on leaving
 */
export function spokenRemark({ visit, told, journal }, Recorder) {
  const ways = element("div", { class: "speak" });
  const list = live(visit.store, ["recording"], () => recordings(visit, told, journal), { class: "recordings" });
  let recorder = null;
  let ticking;
  const idle = () => redraw(ways, button("Record a spoken remark", begin, { id: "record", class: "wide-button" }));
  const begin = async () => {
    const fresh = new Recorder();
    try {
      await fresh.start();
    } catch (problem) {
      const words = element("p", { class: "quiet", role: "status" }, problem.message);
      return redraw(ways, words, problem.kind !== "insecure" && button("Try again", begin));
    }
    recorder = fresh;
    const stop = button("Stop and keep", finish, { id: "stop-recording", class: "strong wide-button" });
    const seconds = element("p", { role: "timer" }, "Recording: 0 s");
    redraw(ways, stop, seconds);
    stop.focus();
    ticking = setInterval(() => {
      seconds.textContent = `Recording: ${Math.floor(recorder.seconds)} s`;
      if (recorder.seconds >= LONGEST_SECONDS) finish();
    }, 500);
  };
  const finish = async () => {
    clearInterval(ticking);
    const ending = recorder;
    recorder = null;
    if (!ending) return;
    idle();
    const sound = await ending.stop().catch((problem) => told.failed(problem.message));
    if (!sound) return;
    const says = `Spoken remark of ${countInWords(Math.round(sound.seconds), "second")} saved on this phone.`;
    await told.keep(() => visit.addRecording(sound), says);
  };
  idle();
  return { node: element("div", { class: "visit-group" }, ways, list), leave: finish };
}

function recordings(visit, told, journal) {
  const all = visit.all("recording").sort((a, b) => (a.fields.recorded_at ?? "").localeCompare(b.fields.recorded_at ?? ""));
  return all.map((recording, at) => {
    const number = all.length > 1 ? ` ${at + 1}` : "";
    return element(
      "div",
      { class: "ways recording" },
      playButton(journal, recording, `spoken remark${number}`),
      button("Delete", () => remove(told, journal, recording), {
        "aria-label": `Delete spoken remark${number}`,
        id: `delete-${recording.id}`,
      }),
    );
  });
}

/** Plays and pauses one recording; says so in words. */
export function playButton(journal, recording, name) {
  const seconds = recording.fields.seconds;
  const length = seconds ? `, ${Math.round(seconds)} s` : "";
  let sound = null;
  const rest = () => (node.textContent = `Play ${name}${length}`);
  const flip = async () => {
    sound ??= soundOf(journal, recording, rest, node);
    if (!sound.paused) return sound.pause();
    node.textContent = "Pause";
    await sound.play().catch(() => (node.textContent = "This recording cannot be played here now; it is safe."));
  };
  const node = button("", flip, { id: `play-${recording.id}` });
  rest();
  return node;
}

function soundOf(journal, recording, rest) {
  const sound = new Audio(journal.soundAddress(recording.id));
  sound.addEventListener("pause", rest);
  sound.addEventListener("ended", rest);
  return sound;
}

/** One that was sent can be put back; one that still waits is on this device alone and is gone. */
async function remove(told, journal, recording) {
  if (!recording.fields.waiting)
    return deleteWithUndo({ journal, notices: told.notices }, [recording], "Spoken remark deleted.");
  const sure = await confirmed("Delete this spoken remark?", "It was not sent yet, so it cannot be brought back.", "Delete");
  if (sure) await told.keep(() => journal.removeWaiting(recording.id), "Spoken remark deleted.");
}
