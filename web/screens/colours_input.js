/** A list of colours, each with its own patch to pick from and a button to take it away. */

import { button, element, redraw } from "./dom.js";

const MOST = 8;

/** @param {string} label @param {string[]} value hex colours @param {string} id */
export function coloursInput(label, value, id) {
  const colours = [...value];
  const control = element("div", {
    class: "colours",
    id,
    role: "group",
    "aria-label": label,
    tabindex: "-1",
  });
  const draw = () => redraw(control, colours.map(one), colours.length < MOST && button("Add a colour", add));
  const add = () => {
    colours.push(colours.at(-1) ?? "#808080");
    draw();
    control
      .querySelectorAll("input")
      .item(colours.length - 1)
      .focus();
  };
  const one = (hex, index) => {
    const name = element("span", { class: "hex" }, hex);
    const pick = (event) => (colours[index] = name.textContent = event.target.value);
    const remove = () => {
      colours.splice(index, 1);
      draw();
    };
    return element(
      "div",
      { class: "colour" },
      element("input", {
        type: "color",
        value: hex,
        oninput: pick,
        "aria-label": `${label}, number ${index + 1}`,
      }),
      name,
      button("Remove", remove, { "aria-label": `Remove ${label}, number ${index + 1}` }),
    );
  };
  draw();
  return { control, read: () => [...colours], focus: () => control.focus() };
}
