/** The screen of an address that names what is not (or no longer) there: what is missing, and a way on. */

import { element, link } from "./dom.js";

export const notHere = (words, to, way) => ({
  title: "Not here",
  nodes: [element("h1", {}, words), element("p", {}, link(to, {}, way))],
});

export const photoNotHere = () => notHere("This photo is not in the journal", "#/", "Go to Today");

/** For what is done to the photo of a planting. */
export const plantingNotSaid = (photo) => notHere("First say which planting this photo shows", `#/photos/${photo.id}`, "To the photo");
