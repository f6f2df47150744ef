/** The readings of a trial of the test piece: pure functions from a document to a new one. */

import { put } from "./edit.js";

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
