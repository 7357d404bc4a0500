/** Ways to take photos out as one picture: the pair of two dates as it is seen, what was counted in one. */

import { button } from "../dom.js";
import { pngOf } from "./canvas.js";
import { pictureWays } from "./figure_ways.js";
import { countedPicture, pairBeside, slidPair } from "./photo_pictures.js";
import { fileName, save } from "./save.js";
import { openSheet } from "./sheet.js";

/** A description is read by other programs, which know no spaces that hold words together. */
const plain = (words) => words.replaceAll("\u00a0", " ");

/**
 * @param {{address: string, words: string}} first @param {{address: string, words: string}} second
 * @param {string} title of the planting @param {() => {at: number, laidOver: string} | null} line where the line is now, and
 *   the address of the later photo laid on the earlier one; null where they stand side by side
 */
export function pairButton(first, second, title, line) {
  const open = () =>
    openSheet("Two dates", (says) => {
      const now = line();
      const drawn = () =>
        now ? slidPair(first, { ...second, address: now.laidOver }, now.at, title) : pairBeside(first, second, title);
      const sides = now ? ["left of the line", "right of it"] : ["at the left", "at the right"];
      const description = plain(`${title}: ${first.words} ${sides[0]}; ${second.words} ${sides[1]}`);
      const name = fileName(`${title} ${first.words} ${second.words}`, "two-dates");
      return pictureWays({ name, description, says, png: async () => pngOf(await drawn(), description) });
    });
  return button("Copy or save", open, { class: "secondary", id: "copy-pair" });
}

/** @param {string} address of the class map over the photo @param {string} title of the photo @param {[string, string][]} classes */
export function countedButton(address, title, classes) {
  const description = plain(`What was counted in the photo of ${title}: ${classes.map(([, words]) => words).join("; ")}`);
  const name = fileName(`${title} counted`, "counted");
  const open = () =>
    openSheet("What was counted", (says) => {
      const saveWebp = async () => {
        try {
          const answer = await fetch(address);
          if (!answer.ok) throw new Error();
          save(await answer.blob(), `${name}.webp`);
          says(`Saved as ${name}.webp.`);
        } catch {
          says("The picture did not come. Try again when the journal can be reached.");
        }
      };
      return pictureWays({
        name,
        description,
        says,
        png: async () => pngOf(await countedPicture(address, title, classes), description),
        also: button("Save as WebP, without words", saveWebp),
      });
    });
  return button("Copy or save", open, { class: "secondary", id: "copy-counted", hidden: true });
}
