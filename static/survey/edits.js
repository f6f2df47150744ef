/**
 * The survey as the page edits it: pure functions from a document to a new one.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../format_types.js").Reading} Reading
 * @typedef {import("../format_types.js").Surveyed} Surveyed
 * @typedef {import("../format_types.js").Tool} SurveyTool
 * @typedef {keyof typeof READING_KINDS} ReadingKind
 * @typedef {Omit<Reading, "id">} NewReading
 */

import { DEFAULTS, SURVEY_LETTERS } from "../format.js";

import { newId } from "../model/document.js";
import { put } from "../model/edit.js";
import { renamed, tiedTo, withoutPoint } from "../model/ties.js";
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

/** @type {Record<string, number>} */
export const UNIT_MM = { mm: 1, cm: 10, in: 25.4 };

/** What an id may look like, as the format has it. */
const ID = /^[A-Za-z][A-Za-z0-9_-]{0,23}$/;

/** The survey with what the document leaves out. @param {PlateDocument} document */
export function surveyOf(document) {
  const { survey } = document;
  return {
    tools: survey?.tools ?? DEFAULTS.Survey.tools,
    points: survey?.points ?? [],
    readings: survey?.readings ?? [],
    outlines: survey?.outlines ?? [],
    origin: survey?.origin ?? null,
    along_x: survey?.along_x ?? null,
  };
}

/** @param {PlateDocument} document @param {string} key @param {unknown} value */
export const setPart = (document, key, value) => put(document, ["survey", key], value ?? undefined);

/** Whether outlines go through points that are all determined, so that the floor can be drawn. @param {PlateDocument} document @param {import("../types.js").Answer|null} answer */
export const readyToDraw = (document, answer) =>
  surveyOf(document).outlines.length > 0 && Boolean(answer?.survey) && !answer?.survey?.points.some((p) => p.loose);

/** Names for new points: A to Z, then A2 to Z2 and on; not X, which marks the section. @param {PlateDocument} document */
export function freeName(document) {
  const taken = new Set(surveyOf(document).points.map((p) => p.id));
  for (let round = 1; ; round += 1) {
    for (const letter of "ABCDEFGHIJKLMNOPQRSTUVWYZ") {
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
  if (name !== own && surveyOf(document).points.some((p) => p.id === name)) return `There is a point ${name} already.`;
  return "";
}

/** @param {PlateDocument} document @param {string[]} names */
export const addPoints = (document, names) =>
  setPart(document, "points", [...surveyOf(document).points, ...names.map((id) => ({ id }))]);

/** A point under another id, everywhere it is named. @param {PlateDocument} document @param {string} from @param {string} to */
export function renamePoint(document, from, to) {
  const survey = surveyOf(document);
  const other = (/** @type {string} */ id) => (id === from ? to : id);
  return put(renamed(document, from, to), ["survey"], {
    ...document.survey,
    points: survey.points.map((p) => (p.id === from ? { ...p, id: to } : p)),
    readings: survey.readings.map((r) => ({
      ...r,
      points: r.points.map(other),
      ...(r.wall ? { wall: r.wall.map(other) } : {}),
    })),
    outlines: survey.outlines.map((o) => ({
      ...o,
      ...(o.corners ? { corners: o.corners.map(other) } : {}),
      ...(o.centre ? { centre: other(o.centre) } : {}),
    })),
    ...(survey.origin === from ? { origin: to } : {}),
    ...(survey.along_x === from ? { along_x: to } : {}),
  });
}

/** Readings, outlines and tied items that name a point. @param {PlateDocument} document @param {string} id */
export function leaning(document, id) {
  const { readings, outlines } = surveyOf(document);
  return {
    readings: readings.filter((r) => r.points.includes(id) || r.wall?.includes(id)).map((r) => r.id),
    outlines: outlines.filter((o) => o.centre === id || o.corners?.includes(id)).map((o) => o.id),
    ties: tiedTo(document, id),
  };
}

/** A point taken out, with the readings that name it; outlines and ties lose it, or go when too little is left. @param {PlateDocument} document @param {string} id */
export function removePoint(document, id) {
  const survey = surveyOf(document);
  const gone = new Set(leaning(document, id).readings);
  const outlines = survey.outlines
    .filter((o) => o.centre !== id)
    .map((o) => (o.corners ? { ...o, corners: o.corners.filter((c) => c !== id) } : o))
    .filter((o) => o.centre || (o.corners?.length ?? 0) >= 3);
  const { origin, along_x, ...rest } = document.survey ?? {};
  return put(withoutPoint(document, id), ["survey"], {
    ...rest,
    ...(origin && origin !== id ? { origin } : {}),
    ...(along_x && along_x !== id ? { along_x } : {}),
    points: survey.points.filter((p) => p.id !== id),
    readings: survey.readings.filter((r) => !gone.has(r.id)),
    outlines,
  });
}

/** @param {{id: string}[]} items @param {string} letter */
function nextId(items, letter) {
  const numbers = items.map((item) => Number(new RegExp(`^${letter}(\\d+)$`).exec(item.id)?.[1] ?? 0));
  return `${letter}${Math.max(0, ...numbers) + 1}`;
}

/** @param {NewReading} reading */
export const kindOf = (reading) => READING_KINDS[reading.kind ?? /** @type {ReadingKind} */ (DEFAULTS.Reading.kind)];

/** Why a reading cannot be; empty when it can. @param {NewReading} reading */
export function readingFault(reading) {
  const kind = kindOf(reading);
  if (reading.points.slice(0, kind.points).some((p) => !p))
    return kind.points === 2 ? "Choose both points." : "Choose the point.";
  if (kind.points === 2 && reading.points[0] === reading.points[1])
    return "A distance is between two different points.";
  if (kind.wall && (!reading.wall?.[0] || !reading.wall?.[1])) return "Choose the two points the wall runs through.";
  if (kind.wall && reading.wall?.[0] === reading.wall?.[1]) return "A wall of no length: choose two different points.";
  return "";
}

/** A reading as the format has it: no more points than its kind names, no wall where none is. @template {NewReading} R @param {R} reading @returns {R} */
export function tidyReading(reading) {
  const kind = kindOf(reading);
  const { wall, ...rest } = reading;
  const points = reading.points.slice(0, kind.points);
  return /** @type {R} */ ({ ...rest, points, ...(kind.wall ? { wall } : {}) });
}

/** @param {PlateDocument} document @param {NewReading} reading @returns {{document: PlateDocument, id: string}} */
export function addReading(document, reading) {
  const { readings } = surveyOf(document);
  const id = nextId(readings, SURVEY_LETTERS.reading);
  return { document: setPart(document, "readings", [...readings, { id, ...tidyReading(reading) }]), id };
}

/** @param {PlateDocument} document @param {string} id @param {Partial<Reading>} values */
export function changeReading(document, id, values) {
  return setPart(
    document,
    "readings",
    surveyOf(document).readings.map((r) => (r.id === id ? tidyReading({ ...r, ...values }) : r)),
  );
}

/** Some readings taken in another unit; what was typed stays. @param {PlateDocument} document @param {string[]} ids @param {Reading["unit"]} unit */
export const setUnit = (document, ids, unit) =>
  setPart(
    document,
    "readings",
    surveyOf(document).readings.map((r) => (ids.includes(r.id) ? { ...r, unit } : r)),
  );

/** @param {PlateDocument} document @param {string} id */
export const removeReading = (document, id) =>
  setPart(
    document,
    "readings",
    surveyOf(document).readings.filter((r) => r.id !== id),
  );

/**
 * A value as it was read, in the unit it was read in: `11 13/16 in` stays inches, `30 + 0.5` counts in the row's unit.
 * @param {string} text @param {string} unit the row's @returns {{value: number, unit: "mm"|"cm"|"in"}}
 * @throws {QuantityError}
 */
export function readingValue(text, unit) {
  const said = [...text.toLowerCase().matchAll(/mm|cm|in(?:ch(?:es)?)?|["″]/g)].map(([word]) =>
    word === "mm" || word === "cm" ? word : "in",
  );
  const own = /** @type {"mm"|"cm"|"in"} */ (said.at(-1) ?? unit);
  const value = Number((parseQuantity(text, "length", unit) / UNIT_MM[own]).toPrecision(12));
  if (value <= 0) throw new QuantityError("A reading is more than nothing: type what the tool shows.");
  if (value * UNIT_MM[own] > 5000) throw new QuantityError("Nothing on a case floor is farther away than 5 m.");
  return { value, unit: own };
}

/** What a reading is between, in few signs. @param {NewReading} reading */
export function between(reading) {
  const [a, b] = reading.points;
  switch (reading.kind ?? DEFAULTS.Reading.kind) {
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
  const id = nextId(tools, SURVEY_LETTERS.tool);
  return { document: setPart(document, "tools", [...tools, { id, name: "Own tool", spread_mm: 0.5 }]), id };
}

/** @param {PlateDocument} document @param {string} id @param {Partial<SurveyTool>} values */
export const changeTool = (document, id, values) =>
  setPart(
    document,
    "tools",
    surveyOf(document).tools.map((t) => (t.id === id ? { ...t, ...values } : t)),
  );

/** @param {PlateDocument} document @param {Omit<Surveyed, "id">} outline */
export function addOutline(document, outline) {
  const { outlines } = surveyOf(document);
  const taken = new Set(outlines.map((o) => o.id));
  const what = outline.what ?? /** @type {"obstacle"} */ (DEFAULTS.Surveyed.what);
  let id = what === "floor" ? what : newId(document, what);
  for (let n = Number(/\d+$/.exec(id)?.[0] ?? 1); taken.has(id); n += 1) id = id.replace(/\d*$/, String(n + 1));
  return { document: setPart(document, "outlines", [...outlines, { id, ...outline }]), id };
}

/** @param {PlateDocument} document @param {string} id @param {Partial<Surveyed>} values */
export const changeOutline = (document, id, values) =>
  setPart(
    document,
    "outlines",
    surveyOf(document).outlines.map((o) =>
      o.id === id ? put({ ...o, ...values }, ["height_mm"], values.height_mm ?? o.height_mm) : o,
    ),
  );

/** @param {PlateDocument} document @param {string} id */
export const removeOutline = (document, id) =>
  setPart(
    document,
    "outlines",
    surveyOf(document).outlines.filter((o) => o.id !== id),
  );

/** Why corners cannot be an outline's; empty when they can. @param {PlateDocument} document @param {string[]} corners */
export function cornersFault(document, corners) {
  const known = new Set(surveyOf(document).points.map((p) => p.id));
  const strange = corners.find((c) => !known.has(c));
  if (strange) return `There is no point ${strange}.`;
  return corners.length < 3 ? "An outline has three corners at least." : "";
}
