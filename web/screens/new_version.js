/** Says that a newer version of the app is here; it is used when the person says so, never in the middle of something. */

import { button, element, redraw } from "./dom.js";

/** @param {import("../offline_shell.js").OfflineShell} shell */
export function newVersionNote(shell) {
  const place = element("div", { class: "new-version", role: "status" });
  let later = false;
  const draw = () => {
    const shown = shell.hasNewVersion && !later;
    if (shown === place.hasChildNodes()) return;
    redraw(place, shown && words());
  };
  const words = () => [
    element("p", {}, "A new version is ready. What waits and what you noted stays."),
    element(
      "div",
      { class: "ways" },
      button("Use the new version", () => shell.useNewVersion(), { class: "strong" }),
      button("Later", () => ((later = true), draw())),
    ),
  ];
  shell.watch(draw);
  draw();
  return place;
}
