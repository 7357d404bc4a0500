/** The devices that were let in: what each may do, when it was last used, and what can be done about it. */

import { button, element } from "../dom.js";
import { form } from "../form.js";
import { ROLES_IN_WORDS } from "../pair.js";
import { dayInWords } from "../../words.js";

/** @param {{shutOut: Function, rename: Function}} ways what a person may do with a device */
export function deviceList(devices, ways) {
  const here = devices.filter((device) => !device.revoked_at);
  const out = devices.filter((device) => device.revoked_at);
  return [
    element("h2", {}, "Devices"),
    here.length
      ? element(
          "ul",
          { class: "rows devices" },
          here.map((device) => element("li", {}, deviceRow(device, ways))),
        )
      : element("p", { class: "quiet" }, "None is paired."),
    out.length > 0 &&
      element(
        "details",
        { id: "shut-out" },
        element("summary", {}, "Shut out earlier"),
        element(
          "ul",
          { class: "rows" },
          out.map(({ name, revoked_at: at }) => element("li", {}, `${name}, since ${dayOf(at)}`)),
        ),
      ),
  ];
}

function deviceRow(device, ways) {
  const specs = [{ name: "name", label: "Name" }];
  const renaming = form(specs, { name: device.name }, (typed) => ways.rename(device, typed), {
    words: "Rename",
  });
  return [
    element(
      "p",
      {},
      element("b", {}, device.name),
      device.this && element("span", { class: "mark" }, "this one"),
    ),
    element(
      "p",
      { class: "quiet" },
      `${device.role}: ${ROLES_IN_WORDS[device.role]}. Last used ${lastUse(device.last_used_at)}.`,
    ),
    element(
      "details",
      { id: `change-${device.id}` },
      element("summary", { "aria-label": `Change ${device.name}` }, "Change"),
      element(
        "div",
        { class: "fields" },
        renaming,
        element(
          "div",
          { class: "ways" },
          button("Shut out", () => ways.shutOut(device)),
        ),
      ),
    ),
  ];
}

const two = (number) => String(number).padStart(2, "0");

/** By this device's clock. */
export function timeOf(iso) {
  const moment = new Date(iso);
  return `${two(moment.getHours())}:${two(moment.getMinutes())}`;
}

function dayOf(iso) {
  const moment = new Date(iso);
  return dayInWords(`${moment.getFullYear()}-${two(moment.getMonth() + 1)}-${two(moment.getDate())}`);
}

function lastUse(iso) {
  const minutes = (Date.now() - Date.parse(iso)) / 60000;
  if (minutes < 2) return "just now";
  return dayOf(iso) === dayOf(new Date().toISOString()) ? `today at ${timeOf(iso)}` : `on ${dayOf(iso)}`;
}
