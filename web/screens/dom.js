/** Builds nodes. Text is always set as text, so nothing a person typed can become markup. */

const SVG = "http://www.w3.org/2000/svg";

/** @param {string} tag @param {Object} [props] attributes; `onclick` and the like are listeners @param {...any} children */
export function element(tag, props = {}, ...children) {
  return filled(document.createElement(tag), props, children);
}

export function svgElement(tag, props = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), props, children);
}

function filled(node, props, children) {
  for (const [name, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "value") node.value = value;
    else node.setAttribute(name, value === true ? "" : value);
  }
  node.append(
    ...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false),
  );
  return node;
}

export function link(href, props, ...children) {
  return element("a", { href, ...props }, ...children);
}

export function button(text, onclick, props = {}) {
  return element("button", { type: "button", onclick, ...props }, text);
}

const FOCUSABLE = "a[href], button:not(:disabled), input, select, textarea, summary";

/**
 * Replaces what is in `place`, keeping opened details and the focus: on the same thing, or, where that
 * is gone (a photo was settled), on what now stands in its place.
 */
export function redraw(place, ...children) {
  const focused = place.contains(document.activeElement) ? document.activeElement : null;
  const at = focused ? [...place.querySelectorAll(FOCUSABLE)].indexOf(focused) : -1;
  const opened = [...place.querySelectorAll("details[open][id]")].map((details) => details.id);
  place.replaceChildren(...children.flat(Infinity).filter(Boolean));
  for (const id of opened) place.querySelector(`#${CSS.escape(id)}`)?.setAttribute("open", "");
  if (at < 0) return;
  const standing = [...place.querySelectorAll(FOCUSABLE)];
  const next =
    (focused.id && place.querySelector(`#${CSS.escape(focused.id)}`)) ||
    standing[Math.min(at, standing.length - 1)];
  next?.focus({ preventScroll: true });
}

const LATER_MS = 300;

/**
 * A part of a screen that draws itself anew when records of these kinds change (or, given a function,
 * when what it answers changes). It waits while a person has their hands on it, and stops when it is off the page.
 */
export function live(store, kinds, draw, props = {}) {
  const place = element("div", props, draw());
  const stamp = () => (typeof kinds === "function" ? kinds() : store.stamp(kinds));
  let seen = stamp();
  let planned = false;
  const check = () => {
    planned = false;
    if (!place.isConnected) return stop();
    if (seen === stamp()) return;
    if (isInUse(place)) return plan(() => setTimeout(check, LATER_MS));
    seen = stamp();
    redraw(place, draw());
  };
  const plan = (how) => {
    if (!planned) how();
    planned = true;
  };
  const stop = store.watch(() => plan(() => requestAnimationFrame(check)));
  return place;
}

/** A person types in it, or a finger is down on it: what is drawn anew now would be lost under their hands. */
function isInUse(place) {
  const typing =
    place.contains(document.activeElement) && document.activeElement.matches("input, textarea, select");
  return typing || place.querySelector(":active") !== null;
}

/** One or more DOM ids from words; unique on the page by a running number. */
let nextNumber = 1;
export const freshId = (word) => `${word}-${nextNumber++}`;
