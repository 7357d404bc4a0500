/** A card's code read off a photo of it, taken just now or chosen, on this device alone. */

import { element } from "./dom.js";

const LONGEST_PX = 1600;

/** @param {(code: string) => void} tell what was read */
export function cardPhoto(tell) {
  const said = element("p", { class: "help", role: "status" });
  const file = element("input", {
    type: "file",
    class: "unseen",
    accept: "image/*",
    onchange: async () => {
      const [photo] = file.files;
      if (!photo) return;
      said.textContent = "Looking for the card …";
      const code = await codeIn(photo);
      said.textContent = code ? `Read: ${code}.` : "No card can be read in this photo. Take it from nearer, the card flat to the camera, or type the code.";
      if (code) tell(code);
      file.value = "";
    },
  });
  return element("div", { class: "card-photo" }, element("label", { class: "secondary pick" }, file, "Read it off a photo of the card"), said);
}

/** The reader is loaded when it is needed: few forms have a card in them. */
async function codeIn(photo) {
  let reader = null;
  try {
    const [{ CardReader }, { decoded, pixelsOf }] = await Promise.all([import("../card_reading/card_reader.js"), import("./walk/decoded.js")]);
    reader = new CardReader();
    const picture = await decoded(await photo.arrayBuffer(), photo.type, LONGEST_PX);
    return (await reader.read(pixelsOf(picture)))?.code ?? null;
  } catch {
    return null; // no picture, or no reading here: both are told by there being no code
  } finally {
    reader?.close();
  }
}
