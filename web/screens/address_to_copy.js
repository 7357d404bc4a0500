/** Addresses that are shown once, each with a way to copy it. */

import { button, element } from "./dom.js";

/** @param {{say: (words: string) => void}} notices @param {string[]} urls */
export function addressesToCopy(notices, urls) {
  const copy = async (url) => {
    await navigator.clipboard.writeText(url);
    notices.say("Copied.");
  };
  return urls.map((url) =>
    element(
      "p",
      { class: "address-to-copy" },
      element("code", {}, url),
      navigator.clipboard && button("Copy", () => copy(url).catch((problem) => notices.say(problem.message)), { "aria-label": "Copy the address" }),
    ),
  );
}
