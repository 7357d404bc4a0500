/** The way to the search, beside the heading of a screen. */

import { element, link } from "./dom.js";

export const headed = (title, ...ways) => element("div", { class: "headed" }, element("h1", {}, title), ways);

export const wayToSearch = () => link("#/search", { class: "secondary", id: "to-search" }, "Search");
