/** A table of inputs made for the keyboard: Tab goes on and into the next row, Enter goes down, Ctrl+D repeats the row above. */

import { button, element, redraw } from "../dom.js";
import { EXPOSURES } from "./fields.js";

export const COLUMNS = [
  { name: "planter", label: "Planter" },
  { name: "cultivar", label: "Cultivar" },
  { name: "genus", label: "Genus" },
  { name: "plants", label: "Plants", inputmode: "numeric" },
  { name: "exposure", label: "Exposure", list: "exposures" },
  { name: "planted_on", label: "Planted on", hint: "2026-05-16" },
];

/** Shown once a pasted list fills them. */
const MORE_COLUMNS = [
  { name: "planter_kind", label: "Kind of planter" },
  { name: "bloom_colours", label: "Bloom colours" },
  { name: "foliage_colours", label: "Foliage colours" },
  { name: "card_code", label: "Card code" },
];

const EMPTY = Object.fromEntries(COLUMNS.map(({ name }) => [name, ""]));

export class EntryTable {
  #rows = [{ ...EMPTY }];
  #errors = new Map();
  #columns = COLUMNS;

  /** @param {(text: string) => void} paste called with a pasted list of several cells */
  constructor(paste) {
    this.head = element("tr", {});
    this.body = element("tbody", {});
    this.node = element(
      "div",
      { class: "entry" },
      element(
        "datalist",
        { id: "exposures" },
        EXPOSURES.map((words) => element("option", { value: words })),
      ),
      element(
        "table",
        {},
        element("caption", { class: "unseen" }, "Plantings to create"),
        element("thead", {}, this.head),
        this.body,
      ),
      button("Add a row", () => this.#addRow(), { id: "add-row" }),
      element(
        "p",
        { class: "help keys" },
        "Tab goes on, at the end of a row into the next; Enter goes down; Ctrl+D repeats the row above.",
      ),
    );
    this.body.addEventListener("input", (event) => this.#typed(event.target));
    this.body.addEventListener("keydown", (event) => this.#key(event));
    this.body.addEventListener("paste", (event) => {
      const text = event.clipboardData.getData("text/plain");
      if (!/[\t\n]/.test(text.trim())) return;
      event.preventDefault();
      paste(text);
    });
    this.#draw();
  }

  get filled() {
    return this.#filledRows().length;
  }

  /** The filled rows as a list with a header, as the server reads it. */
  text() {
    const rows = this.#filledRows();
    if (!rows.length) return "";
    const line = (row) =>
      this.#columns
        .map(({ name }) =>
          String(row[name] ?? "")
            .replace(/\s+/g, " ")
            .trim(),
        )
        .join("\t");
    return [this.#columns.map(({ name }) => name).join("\t"), ...rows.map(line)].join("\n");
  }

  /** Puts read rows below those already filled. */
  fill(read) {
    const before = this.#filledRows();
    this.#rows = [...before, ...read.map(cellsOf)];
    this.#columns = [...COLUMNS, ...MORE_COLUMNS.filter(({ name }) => this.#rows.some((row) => row[name]))];
    this.#errors = new Map(read.map((row, index) => [before.length + index, row.errors ?? []]));
    this.#draw();
    this.#focusFirstError();
  }

  /** @param {{errors: {field: string, message: string}[]}[]} read rows in the order they were sent */
  showErrors(read) {
    this.#rows = this.#filledRows();
    this.#errors = new Map(read.map((row, index) => [index, row.errors ?? []]));
    this.#draw();
    this.#focusFirstError();
  }

  #isFilled(row) {
    return this.#columns.some(({ name }) => String(row[name] ?? "").trim());
  }

  #filledRows() {
    return this.#rows.filter((row) => this.#isFilled(row));
  }

  #cell(row, name) {
    return this.body.querySelector(`[data-row="${row}"][data-column="${name}"]`);
  }

  #typed(input) {
    this.#rows[Number(input.dataset.row)][input.dataset.column] = input.value;
  }

  #key(event) {
    const { row, column } = event.target.dataset;
    if (column === undefined) return;
    const at = Number(row);
    if (event.key === "Enter") {
      event.preventDefault();
      this.#goDown(at, column);
    }
    const isLast = column === this.#columns.at(-1).name;
    if (event.key === "Tab" && !event.shiftKey && isLast && this.#isFilled(this.#rows[at])) {
      event.preventDefault();
      this.#goDown(at, COLUMNS[0].name);
    }
    // In a cell with suggestions the arrows belong to the suggestions.
    const arrows = !event.target.hasAttribute("list");
    if (arrows && event.key === "ArrowUp" && at > 0) this.#cell(at - 1, column).focus();
    if (arrows && event.key === "ArrowDown" && at < this.#rows.length - 1) this.#cell(at + 1, column).focus();
    if (event.key.toLowerCase() === "d" && (event.ctrlKey || event.metaKey) && at > 0) {
      event.preventDefault();
      this.#rows[at] = { ...this.#rows[at - 1] };
      this.#draw();
      this.#cell(at, column).focus();
    }
  }

  #goDown(at, column) {
    if (at === this.#rows.length - 1) this.#addRow(column);
    else this.#cell(at + 1, column).focus();
  }

  #addRow(column = "planter") {
    this.#rows.push({ ...EMPTY });
    this.#draw();
    this.#cell(this.#rows.length - 1, column).focus();
  }

  #duplicate(at) {
    this.#rows.splice(at + 1, 0, { ...this.#rows[at] });
    this.#errors.clear();
    this.#draw();
    this.#cell(at + 1, "planter").focus();
  }

  #remove(at) {
    this.#rows.splice(at, 1);
    if (!this.#rows.length) this.#rows.push({ ...EMPTY });
    this.#errors.clear();
    this.#draw();
    this.#cell(Math.min(at, this.#rows.length - 1), "planter").focus();
  }

  #focusFirstError() {
    this.body.querySelector("[aria-invalid=true]")?.focus();
  }

  #draw() {
    redraw(
      this.head,
      this.#columns.map(({ label }) => element("th", { scope: "col" }, label)),
      element("th", { scope: "col" }, "Row"),
    );
    redraw(
      this.body,
      this.#rows.map((row, at) => this.#rowNode(row, at)),
    );
  }

  #rowNode(row, at) {
    const errors = this.#errors.get(at) ?? [];
    const known = this.#columns.map(({ name }) => name);
    const elsewhere = errors.filter(({ field }) => !known.includes(field));
    return element(
      "tr",
      {},
      this.#columns.map((column) => this.#cellNode(row, at, column, errors)),
      element(
        "td",
        { class: "row-ways" },
        element("span", { class: "row-number" }, `Row ${at + 1}`),
        button("Duplicate", () => this.#duplicate(at), { "aria-label": `Duplicate row ${at + 1}` }),
        button("Remove", () => this.#remove(at), { "aria-label": `Remove row ${at + 1}` }),
        elsewhere.map(({ message }) => element("p", { class: "field-problem" }, message)),
      ),
    );
  }

  #cellNode(row, at, { name, label, inputmode, list, hint }, errors) {
    const messages = errors.filter(({ field }) => field === name).map(({ message }) => message);
    const id = `cell-${at}-${name}`;
    const problem = messages.length
      ? element("p", { class: "field-problem", id: `${id}-problem` }, messages.join(" "))
      : null;
    const input = element("input", {
      id,
      value: row[name] ?? "",
      "data-row": at,
      "data-column": name,
      "aria-label": `${label}, row ${at + 1}`,
      "aria-invalid": problem ? "true" : null,
      "aria-describedby": problem?.id,
      inputmode,
      list,
      placeholder: hint,
      autocomplete: "off",
    });
    return element("td", { class: name, "data-label": label }, input, problem);
  }
}

const inOneCell = (value) => (Array.isArray(value) ? value.join(" ") : (value ?? ""));

const cellsOf = (row) =>
  Object.fromEntries([...COLUMNS, ...MORE_COLUMNS].map(({ name }) => [name, inOneCell(row[name])]));
