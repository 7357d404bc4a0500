/** Whose curves are drawn, where there are more than can be told apart. */

import { button, element } from "../dom.js";

/**
 * @param {{comparison: {groups: {key: string, label: string}[]}, drawn: string[], most_drawn: number}} answer
 * @param {(keys: string[]) => void} draw an empty list draws the first by value again
 */
export function curveChooser({ comparison: { groups }, drawn, most_drawn: most }, draw) {
  if (groups.length <= most) return null;
  const boxes = groups.map(({ key }) => element("input", { type: "checkbox", id: `draw-${key}`, checked: drawn.includes(key) }));
  const chosen = () => groups.filter((_, at) => boxes[at].checked).map(({ key }) => key);
  const says = element("p", { class: "help", role: "status" });
  const limit = () => {
    const count = chosen().length;
    for (const box of boxes) box.disabled = !box.checked && count >= most;
    says.textContent = count >= most ? `${count} are chosen; more lines cannot be told apart. Leave one out to draw another.` : `${count} of at most ${most} are chosen.`;
    show.disabled = !count;
  };
  const show = button("Draw these", () => draw(chosen()), { id: "draw-these", class: "primary" });
  for (const box of boxes) box.addEventListener("change", limit);
  limit();
  return element(
    "details",
    { id: "whose-curves" },
    element("summary", {}, `Choose whose curves are drawn (${drawn.length} of ${groups.length})`),
    says,
    element(
      "div",
      { class: "ticks" },
      groups.map(({ label }, at) =>
        element("div", { class: "tick" }, boxes[at], element("label", { for: boxes[at].id }, label)),
      ),
    ),
    element("div", { class: "ways" }, show, button("The first by value", () => draw([]), { id: "draw-first" })),
  );
}
