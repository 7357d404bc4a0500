/** Big choices: one of a few, or some of several; a second tap takes one back. */

import { button, element, freshId } from "../dom.js";
import { capital } from "../../words.js";

/**
 * @param {{title: string, name: string, options: string[], words?: Object<string, string>, value: string | null,
 *   choose: (value: string | null) => void}} what
 */
export function oneOf({ title, name, options, words = {}, value, choose }) {
  const pressed = (option) => option === value;
  return group(title, name, options, words, pressed, (option) => choose(pressed(option) ? null : option), "big-choices");
}

/**
 * @param {{title: string, name: string, options: string[], values: string[], choose: (values: string[]) => void,
 *   suggestions: {value: string, text: string}[]}} what suggestions are offered with their reason and never set by themselves
 */
export function someOf({ title, name, options, values, choose, suggestions }) {
  const pressed = (option) => values.includes(option);
  const flip = (option) =>
    choose(options.filter((one) => (one === option ? !pressed(option) : pressed(one))));
  const open = suggestions.filter(({ value }) => !pressed(value));
  return element(
    "section",
    {},
    group(title, name, options, {}, pressed, flip, "toggles"),
    open.length > 0 && offered(open, flip),
  );
}

function group(title, name, options, words, pressed, choose, looks) {
  const id = freshId(name);
  return element(
    "div",
    { class: "choice-group", role: "group", "aria-labelledby": id },
    element("h2", { id }, title),
    element(
      "div",
      { class: looks },
      options.map((option) =>
        button(words[option] ?? capital(option), () => choose(option), {
          id: `${name}-${option.replaceAll(" ", "-")}`,
          "aria-pressed": String(pressed(option)),
        }),
      ),
    ),
  );
}

function offered(suggestions, flip) {
  return element(
    "div",
    { class: "suggested" },
    element("p", { class: "quiet" }, "The numbers and notes speak for:"),
    element(
      "ul",
      { class: "rows" },
      suggestions.map(({ value, text }) =>
        element(
          "li",
          { class: "offered" },
          element("p", {}, element("b", {}, capital(value)), `: ${text}`),
          button("Say so", () => flip(value), { "aria-label": `Say so: ${value}` }),
        ),
      ),
    ),
  );
}
