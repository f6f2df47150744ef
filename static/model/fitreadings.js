/** The readings of a trial of the test piece: pure functions from a document to a new one. */

import { itemsOf } from "./document.js";
import { put } from "./edit.js";

/** @typedef {import("../types.js").PlateDocument} PlateDocument */

/**
 * The fit readings of a document with one port's changed, or taken out by `null`.
 * @param {import("../types.js").PlateDocument} document @param {string} port
 * @param {{dx_mm?: number, dy_mm?: number}|null} change
 */
export function withReading(document, port, change) {
  const readings = document.fit_readings ?? [];
  const old = readings.find((r) => r.port === port);
  const rest = readings.filter((r) => r.port !== port);
  const next = change === null ? rest : [...rest, { port, ...old, ...change }];
  return put(document, ["fit_readings"], next.length ? next : undefined);
}

/**
 * The document with a reading of 0, 0 for every port that a tube comes down to and that has none yet: it was looked at, and
 * is right. @param {PlateDocument} document @returns {PlateDocument}
 */
export function restFits(document) {
  const read = new Set((document.fit_readings ?? []).map((r) => r.port));
  const fine = itemsOf(document, "port").filter((port) => port.serves && !read.has(port.id));
  return fine.reduce((next, port) => withReading(next, port.id, { dx_mm: 0, dy_mm: 0 }), document);
}
