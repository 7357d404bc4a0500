/** Asks before something that is hard to take back. */

import { button, element } from "../dom.js";

/** @returns {Promise<boolean>} */
export function confirmed(question, consequence, words) {
  return new Promise((resolve) => {
    const close = (answer) => {
      resolve(answer);
      dialog.close();
    };
    const dialog = element(
      "dialog",
      { class: "question", onclose: () => (resolve(false), dialog.remove()) },
      element("h2", {}, question),
      element("p", {}, consequence),
      element(
        "div",
        { class: "ways" },
        button(words, () => close(true), { class: "strong" }),
        button("Keep it", () => close(false)),
      ),
    );
    document.body.append(dialog);
    dialog.showModal();
  });
}
