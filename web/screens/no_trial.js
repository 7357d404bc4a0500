/** What a screen about a trial says while there is none. */

import { element, link } from "./dom.js";

export const noTrialYet = () => element("p", {}, "No trial yet. ", link("#/set-up/trials/new", {}, "Set up a trial"));
