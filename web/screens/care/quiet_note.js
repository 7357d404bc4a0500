/** A season of which nothing was noted for long: its care is not asked for any more, and a person is told how to end it. */

import { element, link } from "../dom.js";
import { dayInWords } from "../../words.js";

export const quietNote = (trial, lastDay) =>
  element(
    "div",
    { class: "finding" },
    element(
      "p",
      {},
      `Nothing was noted of this trial since ${dayInWords(lastDay)}, so Today does not ask for its care. If the season is over, `,
      link(`#/set-up/trials/${trial.id}/end`, {}, "note what was removed"),
      ", or give what is planned ",
      link(`#/set-up/trials/${trial.id}/care`, {}, "a last day"),
      ".",
    ),
  );
