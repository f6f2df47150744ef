/**
 * Small lists as tables: a pasted table or a CSV file taken apart, and new rows begun.
 *
 * @typedef {Record<string, unknown>} Row
 * @typedef {{cells: string[][], head: string[], lines: number[]}} Table  the lines with numbers, what stands above their
 *   columns, and which line of the text each was, from 1
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
  const numbered = text
    .replaceAll("\r\n", "\n")
    .replaceAll("\r", "\n")
    .replace(/^\uFEFF/, "")
    .split("\n")
    .map((line, i) => ({ line: line.trim(), at: i + 1 }))
    // A spreadsheet ends with lines of nothing but signs between empty cells.
    .filter(({ line }) => !/^[\s;,"]*$/.test(line) && !line.startsWith("#"));
  const lines = numbered.map(({ line }) => line);
  const parter = PARTERS.find((sign) => lines.some((line) => parted(line, sign).length > 1));
  // "1,5 2,9": two numbers with a decimal comma each, parted by a blank.
  const blanks = parter === undefined || (parter === "," && lines.every((line) => /^\S+,\S+(\s+\S+,\S+)+$/.test(line)));
  const cells = lines.map((line) =>
    (blanks ? line.split(/\s+/) : parted(line, /** @type {string} */ (parter))).map((cell) => cell.trim().replace(/^"(.*)"$/, "$1").trim()),
  );
  const isHead = (/** @type {string[]} */ row) => row.every((cell) => !/\d/.test(cell.replace(/h2o|m3|m³/gi, "")));
  // Names in one line, units in the next: both stand above the columns.
  const first = cells.findIndex((row) => !isHead(row));
  const heads = cells.slice(0, first < 0 ? cells.length : first);
  const head = (heads[0] ?? []).map((_, c) => heads.map((row) => row[c] ?? "").join(" ").trim());
  return { head, cells: cells.slice(heads.length), lines: numbered.slice(heads.length).map(({ at }) => at) };
}

/** A line at a sign, but for those within quotation marks. @param {string} line @param {string} sign @returns {string[]} */
const parted = (line, sign) => line.split(new RegExp(`${sign}(?=(?:[^"]*"[^"]*")*[^"]*$)`));

/**
 * The column that a head names, by its label or by a unit of its kind; -1 when none.
 * @param {string} words @param {{label: string, type: string}[]} columns @param {Record<string, Record<string, number>>} units of each type
 */
export const columnCalled = (words, columns, units) =>
  columns.findIndex(
    ({ label, type }) => words.toLowerCase().includes(label.toLowerCase().split(" ")[0]) || unitIn(words, units[type] ?? {}) !== "",
  );

/**
 * A unit in brackets at the head of a column that its kind of quantity does not have: "Head (ft)". Empty when there is none.
 * A single letter is the name of an axis, but for the metre.
 * @param {string} head @param {Record<string, number>} units of the column's kind
 */
export function strangeUnit(head, units) {
  const word = /[([]\s*([^)\]\s]{1,8})\s*[)\]]/.exec(head)?.[1] ?? "";
  const unitLike = word.length > 1 || word.toLowerCase() === "m";
  return Object.keys(units).length && unitLike && unitIn(head, units) === "" ? word : "";
}

/**
 * Which column of a table each column of a text is, by the names and units above it; in order where nothing is told.
 * @param {string[]} head @param {{label: string, type: string}[]} columns @param {Record<string, Record<string, number>>} units of each type
 * @returns {number[]|null} none when two columns are called the same, or some are named and others cannot be told
 */
export function columnsNamed(head, columns, units) {
  const named = head.map((words) => columnCalled(words, columns, units));
  const known = named.filter((at) => at >= 0);
  if (!known.length) return head.map((_, i) => i);
  if (new Set(known).size !== known.length) return null;
  // The only head that names nothing, over the only column that is left: "Head" beside "Flow".
  const free = columns.map((_, at) => at).filter((at) => !known.includes(at));
  const nameless = named.filter((at) => at < 0).length;
  return nameless === 1 && free.length === 1 ? named.map((at) => (at < 0 ? free[0] : at)) : named;
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
