/** What is shown where an address names a trial that is not (or no longer) there. */

import { element, link } from "../dom.js";

export const noTrialScreen = () => ({
  title: "Not here",
  nodes: [
    element("h1", {}, "This trial is not in the journal"),
    element("p", {}, link("#/set-up", {}, "To Set-up")),
  ],
});
