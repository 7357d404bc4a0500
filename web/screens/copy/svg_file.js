/** A figure as a file of its own: dark ink on white, nothing of the page's styles, nothing that names a record. */

const INK = "#1a1a1a";
const PAPER = "#ffffff";
const XML = '<?xml version="1.0" encoding="UTF-8"?>\n';
const DROPPED = /^(data-|aria-|on)|^(class|tabindex|role)$/;

/**
 * @param {string} text the SVG as the server drew it @param {{intervals: boolean | null}} shown whether intervals are seen on
 *   the page; null where it is as drawn
 * @returns {{svg: string, title: string, description: string, width: number, height: number}}
 */
export function standalone(text, { intervals }) {
  const root = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  const said = (name) => root.querySelector(`:scope > ${name}`)?.textContent ?? "";
  const [title, description] = [said("title"), said("desc")];
  showIntervals(root, intervals);
  for (const node of [root, ...root.querySelectorAll("*")]) paint(node);
  root.setAttribute("role", "img");
  const [width, height] = [root.width.baseVal.value, root.height.baseVal.value];
  root.querySelector(":scope > desc").after(ground(root, width, height));
  return { svg: XML + new XMLSerializer().serializeToString(root), title, description, width, height };
}

function showIntervals(root, intervals) {
  if (intervals === null) return;
  for (const node of root.querySelectorAll(".fig-interval")) {
    if (intervals) node.setAttribute("opacity", "1");
    else node.remove();
  }
}

function paint(node) {
  for (const { name, value } of [...node.attributes]) {
    if (DROPPED.test(name)) node.removeAttribute(name);
    else if (value === "currentColor") node.setAttribute(name, INK);
    else if (value.startsWith("var(--paper")) node.setAttribute(name, PAPER);
  }
}

function ground(root, width, height) {
  const rect = root.ownerDocument.createElementNS("http://www.w3.org/2000/svg", "rect");
  for (const [name, value] of Object.entries({ width, height, fill: PAPER })) rect.setAttribute(name, value);
  return rect;
}
