/**
 * The survey as the page edits it: pure functions from a document to a new one.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 */

import { newId } from "../model/document.js";
import { put } from "../model/edit.js";
import { parseQuantity, QuantityError } from "../model/quantity.js";

/** Kinds of reading: what each is called, how many points it names, whether it leans on a wall. */
export const READING_KINDS = Object.freeze({
  distance: { title: "Distance", points: 2, wall: false, help: "Between two points; a diagonal is one too." },
  offset: { title: "Off a wall", points: 1, wall: true, help: "Of a point, square off the line through two points." },
  along: { title: "Along a wall", points: 1, wall: true, help: "From the wall's first point to the foot of a point." },
  x: { title: "From the left", points: 1, wall: false, help: "Of a point, from the left inner wall." },
  y: { title: "From the front", points: 1, wall: false, help: "Of a point, from the front inner wall." },
  diameter: { title: "Diameter", points: 1, wall: false, help: "Of the round thing at a point." },
  height: { title: "Height", points: 1, wall: false, help: "Of a point above the floor." },
});

/** Spread of a single reading, one standard deviation in mm: common practice, no source. */
export const USUAL_TOOLS = Object.freeze([
  { id: "caliper", name: "Caliper", spread_mm: 0.05 },
  { id: "rule", name: "Steel rule", spread_mm: 0.3 },
  { id: "tape", name: "Tape", spread_mm: 1 },
]);

/** @type {Record<string, number>} */
export const UNIT_MM = { mm: 1, cm: 10, in: 25.4 };

/** What an id may look like, as the format has it. */
const ID = /^[A-Za-z][A-Za-z0-9_-]{0,23}$/;

/** The survey with what the document leaves out. @param {PlateDocument} document */
export function surveyOf(document) {
  const survey = document.survey ?? {};
  return {
    tools: survey.tools ?? [...USUAL_TOOLS],
    points: survey.points ?? [],
    readings: survey.readings ?? [],
    outlines: survey.outlines ?? [],
    origin: survey.origin ?? null,
    along_x: survey.along_x ?? null,
  };
}

/** @param {PlateDocument} document @param {string} key @param {any} value */
export const setPart = (document, key, value) => put(document, ["survey", key], value ?? undefined);

/** Names for new points: A to Z, then A2 to Z2 and on. @param {PlateDocument} document */
export function freeName(document) {
  const taken = new Set(surveyOf(document).points.map((/** @type {Item} */ p) => p.id));
  for (let round = 1; ; round += 1) {
    for (const letter of "ABCDEFGHIJKLMNOPQRSTUVWXYZ") {
      const name = round === 1 ? letter : `${letter}${round}`;
      if (!taken.has(name)) return name;
    }
  }
}

/** Ids in a text, and what is wrong with it. @param {string} text @returns {string[]} */
export const idsIn = (text) => text.split(/[\s,;]+/).filter(Boolean);

/** Why a name cannot be a new point's; empty when it can. @param {PlateDocument} document @param {string} name @param {string} [own] the point's name so far */
export function nameFault(document, name, own) {
  if (!ID.test(name)) return `“${name}” will not do: a letter first, then letters, digits, - or _, at most 24.`;
  if (name !== own && surveyOf(document).points.some((/** @type {Item} */ p) => p.id === name))
    return `There is a point ${name} already.`;
  return "";
}

/** @param {PlateDocument} document @param {string[]} names */
export const addPoints = (document, names) =>
  setPart(document, "points", [...surveyOf(document).points, ...names.map((id) => ({ id }))]);

/** A point under another id, everywhere it is named. @param {PlateDocument} document @param {string} from @param {string} to */
export function renamePoint(document, from, to) {
  const survey = surveyOf(document);
  const other = (/** @type {any} */ id) => (id === from ? to : id);
  const next = {
    ...document.survey,
    points: survey.points.map((/** @type {Item} */ p) => (p.id === from ? { ...p, id: to } : p)),
    readings: survey.readings.map((/** @type {Item} */ r) => ({
      ...r,
      points: r.points.map(other),
      ...(r.wall ? { wall: r.wall.map(other) } : {}),
    })),
    outlines: survey.outlines.map((/** @type {Item} */ o) => ({
      ...o,
      ...(o.corners ? { corners: o.corners.map(other) } : {}),
      ...(o.centre ? { centre: other(o.centre) } : {}),
    })),
  };
  for (const key of ["origin", "along_x"]) if (survey[/** @type {"origin"} */ (key)] === from) next[key] = to;
  return put(document, ["survey"], next);
}

/** Readings and outlines that name a point. @param {PlateDocument} document @param {string} id */
export function leaning(document, id) {
  const { readings, outlines } = surveyOf(document);
  return {
    readings: readings
      .filter((/** @type {Item} */ r) => r.points.includes(id) || r.wall?.includes(id))
      .map((/** @type {Item} */ r) => r.id),
    outlines: outlines
      .filter((/** @type {Item} */ o) => o.centre === id || o.corners?.includes(id))
      .map((/** @type {Item} */ o) => o.id),
  };
}

/** A point taken out, with the readings that name it; outlines lose a corner, or go when too few are left. @param {PlateDocument} document @param {string} id */
export function removePoint(document, id) {
  const survey = surveyOf(document);
  const gone = new Set(leaning(document, id).readings);
  /** @type {any} */
  const next = {
    ...document.survey,
    points: survey.points.filter((/** @type {Item} */ p) => p.id !== id),
    readings: survey.readings.filter((/** @type {Item} */ r) => !gone.has(r.id)),
    outlines: survey.outlines
      .filter((/** @type {Item} */ o) => o.centre !== id)
      .map((/** @type {Item} */ o) =>
        o.corners ? { ...o, corners: o.corners.filter((/** @type {string} */ c) => c !== id) } : o,
      )
      .filter((/** @type {Item} */ o) => o.centre || o.corners.length >= 3),
  };
  for (const key of ["origin", "along_x"]) if (next[key] === id) delete next[key];
  return put(document, ["survey"], next);
}

/** @param {Item[]} items @param {string} letter */
function nextId(items, letter) {
  const numbers = items.map((item) => Number(new RegExp(`^${letter}(\\d+)$`).exec(item.id)?.[1] ?? 0));
  return `${letter}${Math.max(0, ...numbers) + 1}`;
}

/** Why a reading cannot be; empty when it can. @param {Item} reading */
export function readingFault(reading) {
  const kind = READING_KINDS[/** @type {keyof typeof READING_KINDS} */ (reading.kind)];
  if (reading.points.slice(0, kind.points).some((/** @type {string} */ p) => !p))
    return kind.points === 2 ? "Choose both points." : "Choose the point.";
  if (kind.points === 2 && reading.points[0] === reading.points[1])
    return "A distance is between two different points.";
  if (kind.wall && (!reading.wall?.[0] || !reading.wall?.[1])) return "Choose the two points the wall runs through.";
  if (kind.wall && reading.wall[0] === reading.wall[1]) return "A wall of no length: choose two different points.";
  return "";
}

/** A reading as the format has it: no more points than its kind names, no wall where none is. @param {Item} reading @returns {Item} */
export function tidyReading(reading) {
  const kind = READING_KINDS[/** @type {keyof typeof READING_KINDS} */ (reading.kind ?? "distance")];
  const { wall, ...rest } = reading;
  return { ...rest, points: reading.points.slice(0, kind.points), ...(kind.wall ? { wall } : {}) };
}

/** @param {PlateDocument} document @param {Item} reading @returns {{document: PlateDocument, id: string}} */
export function addReading(document, reading) {
  const { readings } = surveyOf(document);
  const id = nextId(readings, "R");
  return { document: setPart(document, "readings", [...readings, { id, ...tidyReading(reading) }]), id };
}

/** @param {PlateDocument} document @param {string} id @param {Item} values */
export function changeReading(document, id, values) {
  return setPart(
    document,
    "readings",
    surveyOf(document).readings.map((/** @type {Item} */ r) => (r.id === id ? tidyReading({ ...r, ...values }) : r)),
  );
}

/** @param {PlateDocument} document @param {string} id */
export const removeReading = (document, id) =>
  setPart(
    document,
    "readings",
    surveyOf(document).readings.filter((/** @type {Item} */ r) => r.id !== id),
  );

/**
 * A value as it was read, in the unit it was read in: `11 13/16 in` stays inches, `30 + 0.5` counts in the row's unit.
 * @param {string} text @param {string} unit the row's @returns {{value: number, unit: string}}
 * @throws {QuantityError}
 */
export function readingValue(text, unit) {
  const said = [...text.toLowerCase().matchAll(/mm|cm|in(?:ch(?:es)?)?|["″]/g)].map(([word]) =>
    word === "mm" || word === "cm" ? word : "in",
  );
  const own = said.length ? said[said.length - 1] : unit;
  const value = Number((parseQuantity(text, "length", unit) / UNIT_MM[own]).toPrecision(12));
  if (value <= 0) throw new QuantityError("A reading is more than nothing: type what the tool shows.");
  if (value * UNIT_MM[own] > 5000) throw new QuantityError("Nothing on a case floor is farther away than 5 m.");
  return { value, unit: own };
}

/** What a reading is between, in few signs. @param {Item} reading */
export function between(reading) {
  const [a, b] = reading.points;
  switch (reading.kind ?? "distance") {
    case "distance":
      return `${a}–${b}`;
    case "offset":
      return `${a} off ${reading.wall?.join("–")}`;
    case "along":
      return `${a} along ${reading.wall?.join("–")}`;
    case "x":
      return `${a} from left`;
    case "y":
      return `${a} from front`;
    case "diameter":
      return `⌀ at ${a}`;
    default:
      return `${a} high`;
  }
}

/** A new tool of one's own. @param {PlateDocument} document */
export function addTool(document) {
  const { tools } = surveyOf(document);
  const id = nextId(tools, "own");
  return { document: setPart(document, "tools", [...tools, { id, name: "Own tool", spread_mm: 0.5 }]), id };
}

/** @param {PlateDocument} document @param {string} id @param {Item} values */
export const changeTool = (document, id, values) =>
  setPart(
    document,
    "tools",
    surveyOf(document).tools.map((/** @type {Item} */ t) => (t.id === id ? { ...t, ...values } : t)),
  );

/** @param {PlateDocument} document @param {Item} outline without an id */
export function addOutline(document, outline) {
  const { outlines } = surveyOf(document);
  const taken = new Set(outlines.map((/** @type {Item} */ o) => o.id));
  let id = outline.what === "floor" ? "floor" : newId(document, outline.what);
  for (let n = Number(/\d+$/.exec(id)?.[0] ?? 1); taken.has(id); n += 1) id = id.replace(/\d*$/, String(n + 1));
  return { document: setPart(document, "outlines", [...outlines, { id, ...outline }]), id };
}

/** @param {PlateDocument} document @param {string} id @param {Item} values */
export const changeOutline = (document, id, values) =>
  setPart(
    document,
    "outlines",
    surveyOf(document).outlines.map((/** @type {Item} */ o) =>
      o.id === id ? put({ ...o, ...values }, ["height_mm"], values.height_mm ?? o.height_mm) : o,
    ),
  );

/** @param {PlateDocument} document @param {string} id */
export const removeOutline = (document, id) =>
  setPart(
    document,
    "outlines",
    surveyOf(document).outlines.filter((/** @type {Item} */ o) => o.id !== id),
  );

/** Why corners cannot be an outline's; empty when they can. @param {PlateDocument} document @param {string[]} corners */
export function cornersFault(document, corners) {
  const known = new Set(surveyOf(document).points.map((/** @type {Item} */ p) => p.id));
  const strange = corners.find((c) => !known.has(c));
  if (strange) return `There is no point ${strange}.`;
  return corners.length < 3 ? "An outline has three corners at least." : "";
}
