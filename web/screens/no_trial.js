/** What stands where there is no trial: none at all yet, or not the one that the address names. */

import { element, link } from "./dom.js";
import { notHere } from "./not_here.js";

export const noTrialYet = () => element("p", {}, "No trial yet. ", link("#/set-up/trials/new", {}, "Set up a trial"));

export const noTrialScreen = () => notHere("This trial is not in the journal", "#/set-up", "To Set-up");
