/** What the journal did not take: in words, with a way on for each. */

import { button, element } from "./dom.js";
import { pictureAddress } from "../store/waiting_pictures.js";
import { confirmed } from "./set_up/confirm.js";

export function attentionPart({ journal }) {
  const { attention } = journal.queue.state;
  if (!attention.length) return null;
  return element(
    "section",
    {},
    element("h2", {}, "The journal did not take these"),
    element("p", { class: "quiet" }, "They are kept here until you decide. Everything else goes on."),
    element(
      "ul",
      { class: "rows" },
      attention.map((one) => row(journal.queue, one)),
    ),
  );
}

function row(queue, { key, what, message, canRetry }) {
  const entry = queue.entries.find((one) => one.key === key);
  const throwAway = async () => {
    const sure = await confirmed(
      "Throw this away?",
      `${what}. It is nowhere else and cannot be had back.`,
      "Throw away",
    );
    if (sure) await queue.drop(key);
  };
  return element(
    "li",
    { class: "attention" },
    entry?.kind === "photo" &&
      element("img", {
        class: "thumb",
        src: pictureAddress(entry.id, "thumb"),
        alt: "",
        width: 80,
        height: 60,
      }),
    element("p", {}, element("b", {}, what)),
    element("p", { class: "signal" }, message),
    element(
      "div",
      { class: "ways" },
      canRetry && button("Try again", () => queue.retry(key), { "aria-label": `Try again: ${what}` }),
      button("Throw away", throwAway, { "aria-label": `Throw away: ${what}` }),
    ),
  );
}
