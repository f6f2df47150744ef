/**
 * A small list as a table: typed cell by cell, pasted from a spreadsheet, opened from a CSV file. The last row is
 * empty; it becomes one of the list as soon as it holds all that a row needs.
 *
 * @typedef {import("./record.js").Host} Host
 * @typedef {import("../types.js").Path} Path
 * @typedef {import("./fields.js").Field} Field
 * @typedef {import("../model/rows.js").Row} Row
 * @typedef {{host: Host, model: string, at: Path, title: string, letter: string, columns: Field[], rows: Row[],
 *   problem: HTMLElement, typed?: (rows: Row[]) => void}} Grid
 *   typed: told of the rows as they would be, while a cell is being typed in
 */

import { h } from "../dom.js";
import { put } from "../model/edit.js";
import { UNITS } from "../model/quantity.js";
import { begun, columnCalled, columnsNamed, complete, parseTable, strangeUnit, unitIn } from "../model/rows.js";
import { button, readValue, same, shownText, unitWord, withCurrent } from "./form.js";

/** With more columns than this a row is a small form of its own where the panel is narrow: nothing hides beside it. */
const MANY = 3;
/** Letters of a name that fits in a quarter of that panel. */
const SHORT = 9;

/**
 * @param {Omit<Grid, "problem">} given @param {{help?: string, csv?: boolean}} [more]
 */
export function rowsTable(given, { help = "", csv = true } = {}) {
  const { host, at, title, columns, rows } = given;
  const grid = { ...given, problem: h("p.problem", { role: "status", hidden: true }) };
  return h(
    `section.sub.rows${columns.length > MANY ? ".many-columns" : ""}${columns.every(({ label }) => label.length <= SHORT) ? ".short-columns" : ""}`,
    { role: "group", "aria-label": title },
    h("h4", {}, `${title} (${rows.length})`),
    help ? h("p.quiet", {}, help) : null,
    h(
      "div.rows-scroll",
      {},
      h(
        "table.rows-table",
        { onpaste: (event) => pasted(grid, event) },
        h("thead", {}, headRow(grid)),
        h(
          "tbody",
          {},
          rows.map((row, i) =>
            h(
              "tr",
              {},
              columns.map((spec, c) => h("td", { dataset: { label: spec.label } }, cell(grid, spec, i, c, row))),
              h("td.row-end", {}, removeButton(grid, i)),
            ),
          ),
          h("tr.new-row", {}, columns.map((spec) => h("td", { dataset: { label: spec.label } }, newCell(grid, spec))), h("td.row-end")),
        ),
      ),
    ),
    grid.problem,
    csv ? h("div.actions-row", {}, fromFile(grid), rows.length ? clearButton(host, at, title) : null) : null,
  );
}

/** @param {Grid} grid */
function headRow({ columns, host }) {
  return h(
    "tr",
    {},
    columns.map((spec) => {
      const word = unitWord(spec, host.unit);
      return h("th", { scope: "col" }, spec.label, word ? h("span.quiet", {}, ` ${word}`) : null);
    }),
    h("td"),
  );
}

/** What a cell is called for those who hear it. @param {Grid} grid @param {Field} spec @param {number} row counted from 0 */
const cellName = ({ title, rows }, spec, row) =>
  `${spec.label}, ${title.toLowerCase()}, ${row < rows.length ? `row ${row + 1}` : "new row"}`;

/** @param {Grid} grid @param {string} words */
function complain({ problem }, words) {
  problem.textContent = words;
  problem.hidden = !words;
}

/**
 * The control of one cell.
 * @param {Grid} grid @param {Field} spec @param {number} row @param {unknown} value @param {string} keep
 * @param {(value: unknown) => void} take
 */
function control(grid, spec, row, value, keep, take) {
  const common = { "aria-label": cellName(grid, spec, row), "data-keep": keep };
  if (spec.type === "choice") {
    const known = spec.options ?? [];
    const open = spec.optional || value === undefined || value === null;
    return h(
      "select",
      { ...common, onchange: (event) => take(event.currentTarget.value || null) },
      withCurrent([...(open ? [["", "—"]] : []), ...known], value).map(([key, words]) =>
        h("option", { value: key, selected: key === (value ?? "") }, words),
      ),
    );
  }
  if (spec.type === "yes")
    return h("input", {
      ...common,
      type: "checkbox",
      checked: Boolean(value),
      onchange: (event) => take(event.currentTarget.checked),
    });
  return textCell(grid, spec, row, value, common, take);
}

/**
 * A cell that is typed in.
 * @param {Grid} grid @param {Field} spec @param {number} row @param {unknown} value @param {import("../types.js").Props} common
 * @param {(value: unknown) => void} take
 */
function textCell(grid, spec, row, value, common, take) {
  const shown = shownText(spec, value, grid.host.unit);
  const read = (/** @type {HTMLInputElement} */ input) => readValue(spec, input, grid.host.unit);
  const finish = (/** @type {HTMLInputElement} */ input) => {
    if (input.dataset.typing === undefined) return;
    delete input.dataset.typing;
    const found = row === grid.rows.length && !input.value.trim() ? { value: null } : read(input);
    if ("problem" in found) {
      input.setAttribute("aria-invalid", "true");
      complain(grid, `${cellName(grid, spec, row)}: ${found.problem}`);
      return;
    }
    input.removeAttribute("aria-invalid");
    complain(grid, "");
    take(found.value);
  };
  return h(spec.type === "text" ? "input.words" : "input", {
    ...common,
    type: "text",
    autocomplete: "off",
    spellcheck: "false",
    value: shown,
    oninput: (event) => {
      const input = event.currentTarget;
      input.dataset.typing = "";
      const found = read(input);
      if (!("problem" in found)) tell(grid, row, spec, found.value);
    },
    onchange: (event) => finish(event.currentTarget),
    onblur: (event) => finish(event.currentTarget),
    onkeydown: (event) => {
      const input = event.currentTarget;
      if (event.key === "Enter") finish(input);
      if (event.key !== "Escape" || input.value === shown) return;
      // As in a field: what is typed is given up, and nothing beyond the cell hears of it.
      event.stopPropagation();
      delete input.dataset.typing;
      input.value = shown;
      input.removeAttribute("aria-invalid");
      complain(grid, "");
      grid.typed?.(grid.rows);
    },
  });
}

/** The rows as they would be with what is being typed. @param {Grid} grid @param {number} row @param {Field} spec @param {unknown} value */
function tell(grid, row, spec, value) {
  if (!grid.typed) return;
  const key = String(spec.path.at(-1));
  const base = row < grid.rows.length ? grid.rows[row] : pending(grid);
  const next = { ...base, [key]: value };
  if (complete(grid.model, next)) grid.typed([...grid.rows.slice(0, row), next, ...grid.rows.slice(row + 1)]);
}

/** @param {Grid} grid @param {Field} spec @param {number} i @param {number} c @param {Row} row */
function cell(grid, spec, i, c, row) {
  const { host, at, rows } = grid;
  const key = String(spec.path.at(-1));
  const path = [...at, i, key];
  return control(grid, spec, i, row[key] ?? spec.usual ?? null, `${host.keep}-${path.join("-")}`, (value) => {
    const usual = value === null || value === "" || (value === spec.usual && !spec.always);
    if (same(value, row[key] ?? spec.usual ?? null)) return;
    // The whole list: what the format gives of itself is not in the document yet.
    host.change(at, rows.with(i, put(row, [key], usual ? undefined : value)), cellName(grid, spec, i));
  });
}

/** What is typed in the empty row and not complete yet; it outlives a redraw. @param {Grid} grid @returns {Row} */
const pending = ({ host, at }) => (host.memory[`new ${host.keep} ${at.join(".")}`] ??= {});

/** @param {Grid} grid @param {Field} spec */
function newCell(grid, spec) {
  const { host, at, model, rows, title, letter } = grid;
  const key = String(spec.path.at(-1));
  const row = pending(grid);
  // Called as a cell of the row that it may become: whoever types on stays in that row when it has become one.
  const keep = [host.keep, ...at, rows.length, key].join("-");
  return control(grid, spec, rows.length, row[key] ?? null, keep, (value) => {
    if (value === null || value === "") delete row[key];
    else row[key] = value;
    if (!complete(model, row)) return;
    const next = begun(model, { ...row }, rows, letter);
    for (const typed of Object.keys(row)) delete row[typed];
    host.change(at, [...rows, next], `${title}: add a row`);
  });
}

/** @param {Grid} grid @param {number} i */
const removeButton = ({ host, at, rows, title }, i) =>
  button("×", () => host.change(at, rows.length > 1 ? rows.toSpliced(i, 1) : undefined, `${title}: remove row ${i + 1}`), {
    "aria-label": `Remove row ${i + 1} of ${title.toLowerCase()}`,
    "data-keep": `${host.keep}-${at.join("-")}-remove-${i}`,
  });

/** @param {Host} host @param {Path} at @param {string} title */
const clearButton = (host, at, title) =>
  button("Remove all rows", () => host.change(at, undefined, `${title}: remove all rows`), {
    class: "quiet-button",
    "data-keep": `${host.keep}-${at.join("-")}-clear`,
  });

/** A table in the clipboard goes in from the cell it is pasted into. @param {Grid} grid @param {ClipboardEvent} event */
function pasted(grid, event) {
  const text = event.clipboardData?.getData("text/plain") ?? "";
  const target = /** @type {HTMLElement} */ (event.target);
  const box = target.closest("td");
  if (!box || !/[\n\t;]/.test(text.trim())) return;
  event.preventDefault();
  const line = /** @type {HTMLTableRowElement} */ (box.parentElement);
  delete target.dataset.typing;
  take(grid, text, line.sectionRowIndex, box.cellIndex, false);
}

/** @param {Grid} grid */
function fromFile(grid) {
  const input = h("input.unseen", {
    type: "file",
    accept: ".csv,.txt,.tsv,text/csv,text/plain",
    tabindex: "-1",
    "aria-label": `CSV file for ${grid.title.toLowerCase()}`,
    onchange: async () => {
      const file = input.files?.[0];
      if (file) take(grid, await file.text(), 0, 0, true);
      input.value = "";
    },
  });
  return [
    button("Open a CSV file…", () => input.click(), {
      "aria-label": `Open a CSV file for ${grid.title.toLowerCase()}`,
      "data-keep": `${grid.host.keep}-${grid.at.join("-")}-csv`,
    }),
    input,
  ];
}

/**
 * Puts a table of text into the rows, all of it or nothing.
 * @param {Grid} grid @param {string} text @param {number} fromRow @param {number} fromColumn @param {boolean} anew in place of what is there
 */
function take(grid, text, fromRow, fromColumn, anew) {
  const { head, cells, lines } = parseTable(text);
  const named = head.length ? columnsNamed(head, grid.columns, UNITS) : [];
  if (!named) {
    complain(grid, "Two columns have the same name or unit at their head, so which is which cannot be told. Nothing was changed.");
    return;
  }
  // Heads say which column is which; what has none, or heads that name nothing, goes in from the cell that it was put in.
  const byName = anew || head.some((words) => columnCalled(words, grid.columns, UNITS) >= 0);
  const columnAt = (/** @type {number} */ c) => grid.columns[head.length && byName ? (named[c] ?? -1) : fromColumn + c];
  const strange = head.map((words, c) => [strangeUnit(words, unitsOf(columnAt(c))), columnAt(c)?.label]).find(([unit]) => unit);
  if (strange) {
    complain(grid, `“${strange[0]}” is no unit of ${strange[1]?.toLowerCase()} that is known here. Nothing was changed.`);
    return;
  }
  /** @type {Row[]} */
  let rows = anew ? [] : [...grid.rows];
  for (const [r, line] of cells.entries()) {
    const at = fromRow + r;
    /** @type {Row} */
    let row = rows[at] ?? {};
    for (const [c, word] of line.entries()) {
      const spec = columnAt(c);
      if (!spec || word === "") continue;
      const found = readText({ ...spec, unit: unitOf(spec, head[c]) }, word, grid.host.unit);
      if ("problem" in found) {
        complain(grid, `Line ${lines[r]}, ${spec.label.toLowerCase()} “${word}”: ${found.problem} Nothing was changed.`);
        return;
      }
      row = put(row, [String(spec.path.at(-1))], found.value ?? undefined);
    }
    if (!complete(grid.model, row)) {
      complain(grid, `Line ${lines[r]} lacks a column that every row needs. Nothing was changed.`);
      return;
    }
    rows = [...rows.slice(0, at), begun(grid.model, row, rows, grid.letter), ...rows.slice(at + 1)];
  }
  if (!rows.length) {
    complain(grid, "There is no table in it. Nothing was changed.");
    return;
  }
  complain(grid, "");
  grid.host.change(grid.at, rows, `${grid.title}: ${anew ? "open a file" : "paste"}`);
}

/** @param {Field|undefined} spec @returns {Record<string, number>} */
const unitsOf = (spec) => (spec && spec.type in UNITS ? UNITS[/** @type {keyof typeof UNITS} */ (spec.type)] : {});

/** The unit that the head of a column names, or else the one shown. @param {Field} spec @param {string|undefined} head */
const unitOf = (spec, head) =>
  (head && unitIn(head, unitsOf(spec))) || spec.unit;

/** A cell of text as its column reads it. @param {Field} spec @param {string} word @param {import("../types.js").Unit} unit @returns {{value: unknown}|{problem: string}} */
function readText(spec, word, unit) {
  const plain = word.toLowerCase();
  if (spec.type === "choice") {
    const found = (spec.options ?? []).find(([key, words]) => key.toLowerCase() === plain || words.toLowerCase() === plain);
    return found
      ? { value: found[0] }
      : { problem: `One of ${(spec.options ?? []).map(([, words]) => words).join(", ")} belongs here.` };
  }
  if (spec.type === "yes") return { value: ["yes", "true", "1", "x"].includes(plain) };
  const input = h("input", { type: "text", value: word });
  return readValue(spec, input, unit);
}
