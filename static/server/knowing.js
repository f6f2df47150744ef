/**
 * Questions about a document, sent so that what page and server both know is not sent again: the request carries the
 * items that are other ones now, the answer the rows that differ. Who does not know what was known before (the server
 * has started anew, or it was too long ago) says so, and is sent the whole.
 */

import { ITEM_LISTS } from "../format.js";
import { Refused } from "./api.js";

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").RawAnswer} RawAnswer
 * @typedef {Record<string, Record<string, unknown>>} Edit  for each list its items that are other ones, by number
 */

/** An edit of more items than this is sent as a whole. */
const MOST_ITEMS = 200;

/**
 * What is other in a document than in one before; null where it is more than items of lists. Both share what stayed.
 * @param {PlateDocument} before @param {PlateDocument} now @returns {Edit|null}
 */
export function editBetween(before, now) {
  const [was, is] = [new Map(Object.entries(before)), new Map(Object.entries(now))];
  /** @type {Edit} */
  const edit = {};
  let count = 0;
  for (const key of new Set([...was.keys(), ...is.keys()])) {
    const [one, other] = [was.get(key), is.get(key)];
    if (Object.is(one, other)) continue;
    if (!ITEM_LISTS.includes(key) || !Array.isArray(one) || !Array.isArray(other) || one.length !== other.length) return null;
    for (let n = 0; n < other.length; n++) {
      if (Object.is(one[n], other[n])) continue;
      (edit[key] ??= {})[n] = other[n];
      if (++count > MOST_ITEMS) return null;
    }
  }
  return edit;
}

/** A list put together of pieces of one before and new rows. @template T @param {readonly T[]} before @param {import("../types.js").ListPiece<T>[]} pieces @returns {T[]} */
export function together(before, pieces) {
  return pieces.flatMap((piece) => ("rows" in piece ? piece.rows : before.slice(piece.start, piece.start + piece.count)));
}

/** @typedef {Pick<RawAnswer, "findings"|"flow"|"drawing"|"snaps">} Parts  what is answered by differences */

/** Where a drawing's text is cut, as the server cuts it: before each item, layer and finding. */
const CUT = /(?=<g class="(?:item|layer|finding))/;

/** An answer with what stayed of those before put back. @param {RawAnswer} raw @param {Parts} before @returns {RawAnswer} */
export function whole(raw, before) {
  const { differences, ...rest } = raw;
  if (!differences) return rest;
  const { findings, flow, drawing, snaps } = differences;
  if (findings) rest.findings = together(before.findings ?? [], findings);
  if (flow) {
    const elements = flow.elements ? together(before.flow?.elements ?? [], flow.elements) : before.flow?.elements;
    rest.flow = /** @type {RawAnswer["flow"]} */ ({ ...before.flow, ...flow, elements });
  }
  if (drawing) {
    const { rows, ...others } = drawing;
    rest.drawing = { ...others, svg: together(before.drawing?.svg.split(CUT) ?? [], rows).join("") };
  }
  if (snaps) rest.snaps = before.snaps;
  return rest;
}

/** What stands answered: of an answer its own parts, and of those before what it does not have. @param {Parts} before @param {RawAnswer} now @returns {Parts} */
const answered = (before, now) => ({
  findings: now.findings ?? before.findings,
  flow: now.flow ?? before.flow,
  drawing: now.drawing ?? before.drawing,
  snaps: now.snaps ?? before.snaps,
});

/**
 * @param {(question: object, signal?: AbortSignal) => Promise<RawAnswer>} look sends a question
 * @returns {(document: PlateDocument, want: string[], more?: object, signal?: AbortSignal) => Promise<RawAnswer>}
 */
export function createKnowing(look) {
  /** @type {{name: string, document: PlateDocument, parts: Parts}|null} */
  let known = null;

  return async (document, want, more = {}, signal) => {
    // What is looked at all the time is asked on from: whatever else is asked in between changes nothing.
    const question = { want, ...more, keep: want.includes("findings") || want.includes("drawing") };
    const from = known;
    /** @type {Parts} */
    let before = {};
    const edit = from && editBetween(from.document, document);
    let raw;
    if (from && edit) {
      try {
        raw = whole(await look({ ...question, base: from.name, edit }, signal), from.parts);
        before = from.parts;
      } catch (error) {
        if (!(error instanceof Refused) || error.code !== "unknown-base") throw error;
      }
    }
    raw ??= await look({ ...question, document }, signal);
    if (question.keep) {
      known = raw.known ? { name: raw.known, document, parts: answered(before, raw) } : null;
    }
    return raw;
  };
}
