/** The survey's readings as lines on the plan, coloured by how far each is off. Shown while the floor is measured. */

import { s } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { toScreen } from "../geometry/view.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").SurveyedReading} Known
 * @typedef {import("../format_types.js").Reading} Reading
 */

/** Standardised residuals from which a line is drawn as doubtful: one in twenty right readings goes so far. */
const DOUBTFUL = 1.96;

/** How a reading's line is drawn. @param {Reading} reading @param {Known|undefined} known */
export function lookOf(reading, known) {
  if (reading.set_aside) return "excluded";
  if (known?.rival) return "rival";
  if (known?.suspect) return "suspect";
  if (!known || known.standardised_residual === null) return "unchecked";
  return Math.abs(known.standardised_residual) > DOUBTFUL ? "doubtful" : "agrees";
}

/** The ends of a reading's line, mm; null for one that is no length on the floor. @param {Reading} reading @param {(id: string) => Point|undefined} place @returns {[Point, Point]|null} */
export function lineOf(reading, place) {
  const a = place(reading.points[0]);
  if (!a) return null;
  const kind = reading.kind ?? DEFAULTS.Reading.kind;
  if (kind === "distance") {
    const b = place(reading.points[1] ?? "");
    return b ? [a, b] : null;
  }
  if (kind === "x") return [[0, a[1]], a];
  if (kind === "y") return [[a[0], 0], a];
  const [from, to] = (reading.wall ?? []).map(place);
  if ((kind !== "offset" && kind !== "along") || !from || !to) return null;
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const square = dx * dx + dy * dy;
  if (square < 1e-9) return null;
  const t = ((a[0] - from[0]) * dx + (a[1] - from[1]) * dy) / square;
  /** @type {Point} */
  const foot = [from[0] + t * dx, from[1] + t * dy];
  return kind === "offset" ? [foot, a] : [from, foot];
}

/** @param {{store: import("../types.js").Store, layer: SVGGElement}} parts */
export function createReadingLines({ store, layer }) {
  const group = s("g.reading-lines");
  layer.prepend(group);
  let waiting = false;

  function draw() {
    const { document, answer, step, view, layers } = store.get();
    const survey = answer?.survey;
    if (!document || step !== "measure" || !survey || layers.survey === "hidden") {
      group.replaceChildren();
      return;
    }
    const places = new Map(survey.points.filter((p) => !p.loose && p.x_mm !== null).map((p) => [p.id, p]));
    const known = new Map(survey.readings.map((r) => [r.id, r]));
    const place = (/** @type {string} */ id) => {
      const p = places.get(id);
      return p && /** @type {Point} */ ([p.x_mm, p.y_mm]);
    };
    group.replaceChildren(
      ...(document.survey?.readings ?? []).flatMap((reading) => {
        const line = lineOf(reading, place);
        if (!line) return [];
        const [[x1, y1], [x2, y2]] = line.map((p) => toScreen(view, p));
        return [
          s(`line.reading-line.${lookOf(reading, known.get(reading.id))}`, {
            x1,
            y1,
            x2,
            y2,
            dataset: { reading: reading.id },
          }),
        ];
      }),
    );
  }

  store.watch(["document", "answer", "step", "view", "layers"], () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      draw();
    });
  });
}
