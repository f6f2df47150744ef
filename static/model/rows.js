/**
 * Small lists as tables: a pasted table or a CSV file taken apart, and new rows begun.
 *
 * @typedef {Record<string, unknown>} Row
 * @typedef {{cells: string[][], head: string[]}} Table  the lines with numbers, and the line above them when it has none
 */

import { FIELDS } from "../format.js";
import { REQUIRED } from "../format_parts.js";

/** What parts the cells of a line: the first of these that the text has. A comma beside a semicolon is a decimal's. */
const PARTERS = ["\t", ";", ","];

/**
 * The cells of a pasted table, of a CSV file, or of numbers parted by blanks.
 * @param {string} text @returns {Table}
 */
export function parseTable(text) {
  const lines = text
    .replaceAll("\r\n", "\n")
    .replaceAll("\r", "\n")
    .replace(/^\uFEFF/, "")
    .split("\n")
    .map((line) => line.trim())
    .filter((line) => line && !line.startsWith("#"));
  const parter = PARTERS.find((sign) => lines.some((line) => line.includes(sign)));
  // "1,5 2,9": two numbers with a decimal comma each, parted by a blank.
  const blanks = parter === undefined || (parter === "," && lines.every((line) => /^\S+,\S+(\s+\S+,\S+)+$/.test(line)));
  const cells = lines.map((line) =>
    (blanks ? line.split(/\s+/) : line.split(/** @type {string} */ (parter))).map((cell) =>
      cell.trim().replace(/^"(.*)"$/, "$1"),
    ),
  );
  const isHead = (/** @type {string[]} */ row) => row.every((cell) => !/\d/.test(cell.replace(/h2o|m3|m³/gi, "")));
  return cells.length && isHead(cells[0]) ? { head: cells[0], cells: cells.slice(1) } : { head: [], cells };
}

/** The unit that a column's head names: "Flow (l/h)", "mbar". @param {string} head @param {Record<string, number>} units @returns {string} empty when none */
export function unitIn(head, units) {
  const words = head.toLowerCase().split(/[\s,()[\]]+/);
  return Object.keys(units).find((name) => words.includes(name)) ?? "";
}

/** Whether a new row has all that it needs; an id is made when it is missing. @param {string} model @param {Row} row */
export const complete = (model, row) =>
  Object.keys(row).length > 0 &&
  (REQUIRED[model] ?? []).every((key) => key === "id" || (row[key] !== undefined && row[key] !== ""));

/** The scalar keys of a model, in the order of its columns. @param {string} model @returns {string[]} */
export const columnsOf = (model) => Object.keys(/** @type {Record<string, object>} */ (FIELDS)[model] ?? {});

/**
 * A new row, with an id of its own where rows have ids.
 * @param {string} model @param {Row} row what was typed @param {Row[]} rows those that are there @param {string} letter its ids begin with
 * @returns {Row}
 */
export function begun(model, row, rows, letter) {
  if (!columnsOf(model).includes("id") || row.id) return row;
  const taken = new Set(rows.map(({ id }) => id));
  let number = rows.length + 1;
  while (taken.has(`${letter}${number}`)) number += 1;
  return { id: `${letter}${number}`, ...row };
}
