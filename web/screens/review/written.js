/** A field that is written in: what was typed is kept after a short rest, and on leaving. */

import { element, freshId } from "../dom.js";

const REST_MS = 1200;

/**
 * @param {{name: string, label: string, longest: number, rows?: number, help?: string, type?: "whole",
 *   kept: () => string | number | null, save: (value: string | number | null) => Promise<void>, say: (words: string) => void}} what
 * @returns {{node: Node, input: HTMLElement, leave: () => void, refresh: () => void}} `refresh` shows what is kept, unless
 *   somebody writes in it or what was written could not be kept
 */
export function writtenField({ name, label, longest, rows = 1, help, type, kept, save, say }) {
  const id = freshId(name);
  const shown = () => String(kept() ?? "");
  const problem = element("p", { class: "field-problem", id: `${id}-problem`, "aria-live": "polite" });
  const given = { id, maxlength: longest, "aria-describedby": problem.id, "data-name": name, value: shown() };
  const input =
    rows > 1
      ? element("textarea", { ...given, rows })
      : element("input", { ...given, type: "text", inputmode: type === "whole" ? "numeric" : undefined, autocomplete: "off" });
  let resting;
  const wrong = (words) => {
    problem.textContent = words;
    if (words) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  };
  const keep = async () => {
    clearTimeout(resting);
    const typed = input.value.trim();
    const value = typed === shown() ? {} : read(typed, type, longest);
    wrong(value.problem ?? "");
    if (value.problem || typed === shown()) return;
    try {
      await save(value.value);
      say("Kept on this device.");
    } catch (trouble) {
      wrong(trouble.message);
    }
  };
  input.addEventListener("input", () => {
    clearTimeout(resting);
    resting = setTimeout(keep, REST_MS);
  });
  input.addEventListener("change", keep);
  const refresh = () => {
    const isTheirs = document.activeElement === input || input.hasAttribute("aria-invalid");
    if (!isTheirs && input.value.trim() !== shown()) input.value = shown();
  };
  const node = element(
    "div",
    { class: "field" },
    element("label", { for: id }, label),
    help && element("p", { class: "help" }, help),
    input,
    problem,
  );
  return { node, input, leave: keep, refresh };
}

/** @returns {{value?: string | number | null, problem?: string}} */
function read(typed, type, longest) {
  if (!typed) return { value: null };
  if (type !== "whole") return { value: typed };
  const number = Number(typed);
  const fits = Number.isInteger(number) && number >= 0 && number <= 5000 && typed.length <= longest;
  return fits ? { value: number } : { problem: "This must be a whole number from 0 to 5000." };
}
