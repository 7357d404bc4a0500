/** Ways to take a drawn figure out: SVG, PNG of twice its size, its description, the table behind it. */

import { button, element } from "../dom.js";
import { copyPicture, mayCopy } from "./clipboard.js";
import { loadedImage, pngOf, whiteCanvas } from "./canvas.js";
import { fileName, save } from "./save.js";
import { formatWays, openSheet, textWay } from "./sheet.js";
import { standalone } from "./svg_file.js";

/** So sharp that print and dense screens show it clearly. */
const SCALE = 2;

/**
 * @param {{title: string, id: string, table: () => Promise<{copies?: import("./sheet.js").Copies}>}} what
 * @param {string} text the SVG as the server drew it @param {() => boolean | null} intervals whether they are seen now
 */
export function figureButton(what, text, intervals) {
  const open = () => openSheet(what.title, (says) => ways(what, standalone(text, { intervals: intervals() }), says));
  return button("Copy or save", open, { class: "secondary copy-figure", id: `copy-figure-${what.id}` });
}

async function ways(what, figure, says) {
  const name = fileName(figure.title, what.id);
  const description = [figure.title, figure.description].filter(Boolean).join(". ");
  const png = () => drawn(figure, description);
  const table = await what.table().catch(() => null);
  return [
    pictureWays({
      name,
      description,
      png,
      says,
      first: button("Save as SVG", () => {
        save(new Blob([figure.svg], { type: "image/svg+xml" }), `${name}.svg`);
        says(`Saved as ${name}.svg.`);
      }),
    }),
    table?.copies && element("section", {}, element("h3", {}, "The numbers as a table"), formatWays(table.copies, says)),
  ];
}

/**
 * @param {{name: string, description: string, png: () => Promise<Blob>, says: (words: string) => void, first?: Node, also?: Node}} picture
 */
export function pictureWays({ name, description, png, says, first, also }) {
  const tell = (what) => async () => {
    try {
      says("Making the picture …");
      says(await what());
    } catch (problem) {
      says(problem.message);
    }
  };
  const savePng = tell(async () => {
    save(await png(), `${name}.png`);
    return `Saved as ${name}.png.`;
  });
  const copyPng = tell(async () => {
    await copyPicture(png());
    return "Picture copied.";
  });
  return element(
    "section",
    {},
    element("h3", {}, "The picture"),
    element(
      "div",
      { class: "ways" },
      first,
      button("Save as PNG", savePng),
      also,
      mayCopy() && button("Copy the picture", copyPng),
      mayCopy() && textWay("Copy its description", description, says),
    ),
    !mayCopy() && textWay("Its description", description, says),
  );
}

async function drawn({ svg, width, height }, description) {
  const address = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  try {
    const image = await loadedImage(address);
    const { canvas, pen } = whiteCanvas(width * SCALE, height * SCALE);
    pen.drawImage(image, 0, 0, canvas.width, canvas.height);
    return await pngOf(canvas, description);
  } finally {
    URL.revokeObjectURL(address);
  }
}
