/** What lies over the drawing at the screen's own size: handles, measures, the snap's sign, findings, rulers' guides. */

import { s } from "../dom.js";
import { likeLast } from "../model/centrelines.js";
import { find } from "../model/document.js";
import { circlePath } from "../geometry/follow.js";
import { distance } from "../geometry/path.js";
import { format } from "../model/quantity.js";
import { toScreen } from "../geometry/view.js";
import { drawHandles } from "./handles.js";
import { signs } from "./labels.js";
import { SIGNS, label } from "./signs.js";
import { portPlace } from "./tubetool.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").State} State
 */

/** @param {{store: import("../types.js").Store, stage: import("../types.js").Stage, layer: SVGGElement}} parts */
export function createOverlay({ store, stage, layer }) {
  let waiting = false;
  const parts = ["findings", "measure", "section", "course", "handles", "snap", "cursor"].map((name) =>
    s(`g.over-${name}`),
  );
  const [findings, measure, section, course, handles, snap, cursor] = parts;
  layer.append(...parts);

  /** Once a frame is enough, however many parts of the state have changed. */
  function later() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      draw();
    });
  }

  function draw() {
    const state = store.get();
    const document = state.draft ?? state.document;
    if (!document) return;
    const at = (/** @type {Point} */ p) => toScreen(state.view, p);
    const shift = (/** @type {Point} */ p) => `translate(${at(p)[0]} ${at(p)[1]})`;
    findings.replaceChildren(...drawFindings(state, at, shift, stage.roots));
    measure.replaceChildren(...drawMeasure(state, at));
    section.replaceChildren(...drawSection(state, at));
    course.replaceChildren(...drawCourse(state, document, at, stage));
    handles.replaceChildren(...(state.tool ? [] : drawHandles(state, document, stage)));
    snap.replaceChildren(...drawSnap(state, at, shift));
    cursor.replaceChildren(
      ...(state.cursor && state.cursorShown
        ? [s("path.cursor", { d: "M-14 0H-4M4 0H14M0 -14V-4M0 4V14", transform: shift(state.cursor) })]
        : []),
    );
  }

  store.subscribe(later);
  return { draw };
}

/**
 * Signs of the findings, and the one that is looked at with its distance. A sign stands beside its place, so that it
 * hides nothing and what lies there can be taken hold of. Notes wait until somebody checks.
 * @param {State} state @param {(p: Point) => Point} at @param {(p: Point) => string} shift
 * @param {Map<string, Point>} roots
 */
function drawFindings(state, at, shift, roots) {
  if (state.layers.findings === "hidden") return [];
  const marks = signs(state, roots).map(({ finding: f, members, offset }) =>
    mark(f.level, members.map(({ index }) => index), shift(/** @type {Point} */ (f.at)), offset),
  );
  const { finding } = state;
  return [
    ...marks,
    ...(finding?.line && finding.at ? measuredLine(finding, finding.line.map(at)) : []),
    ...(finding?.at
      ? [s(`path.halo.${finding.level}`, { d: circlePath([0, 0], 18), transform: shift(finding.at) })]
      : []),
  ];
}

/** @param {import("../types.js").Level} level @param {number[]} indices among the findings that have a place, the worst first @param {string} transform @param {Point} offset px */
const mark = (level, indices, transform, [dx, dy]) =>
  s(
    `g.mark.${level}`,
    { transform },
    s("path.mark-lead", { d: `M0 0L${dx * 0.76} ${dy * 0.76}` }),
    s("circle.mark-place", { r: 2.5 }),
    s(
      "g",
      { transform: `translate(${dx} ${dy})`, dataset: { finding: indices.join(" ") } },
      s("circle.target", { r: 12 }),
      s("path", { d: SIGNS[level].d }),
      s("text", { y: level === "warning" ? 5 : 4, "text-anchor": "middle" }, SIGNS[level].letter),
      // One sign for several says how many there are; a click goes from one to the next.
      ...(indices.length > 1
        ? [s("circle.mark-count", { cx: 9, cy: -8, r: 7 }), s("text.mark-number", { x: 9, y: -4.5, "text-anchor": "middle" }, String(Math.min(indices.length, 99)))]
        : []),
    ),
  );

/** @param {import("../types.js").Finding} finding @param {Point[]} ends px */
function measuredLine({ value, unit, level }, [a, b]) {
  const d = `M${a.join(" ")}L${b.join(" ")}`;
  return [
    s("path.measured-halo", { d }),
    s("path.measured", { d }),
    ...[a, b].map((end) => s("circle.measured-end", { cx: end[0], cy: end[1], r: 3 })),
    ...(value === null
      ? []
      : [label(`${format(value, "mm", 2)} ${unit}`, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2 - 14], level)]),
  ];
}

/** @param {State} state @param {(p: Point) => Point} at */
function drawMeasure(state, at) {
  const points = /** @type {Point[]} */ (state.measure ?? []);
  if (!points.length) return [];
  const to = points[1] ?? state.snap?.point;
  if (!to) return [s("circle.measured-end", { cx: at(points[0])[0], cy: at(points[0])[1], r: 4 })];
  const [a, b] = [at(points[0]), at(to)];
  const far = distance(points[0], to);
  const unit = state.unit;
  const words = `${format(far, unit, 2)} ${unit}   ↔ ${format(Math.abs(to[0] - points[0][0]), unit, 2)}   ↕ ${format(Math.abs(to[1] - points[0][1]), unit, 2)}`;
  return [
    s("path.tape-legs", { d: `M${a.join(" ")}H${b[0]}V${b[1]}` }),
    s("path.tape", { d: `M${a.join(" ")}L${b.join(" ")}` }),
    ...[a, b].map((end) => s("circle.tape-end", { cx: end[0], cy: end[1], r: 4 })),
    label(words, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2 - 16]),
  ];
}

/** @param {State} state @param {(p: Point) => Point} at */
function drawSection(state, at) {
  const line = state.sectionLine;
  if (!line) return [];
  const [a, b] = [at(line[0]), at(line[1] ?? state.snap?.point ?? line[0])];
  return [
    s("path.section-line", { d: `M${a.join(" ")}L${b.join(" ")}` }),
    ...[
      [a, "X"],
      [b, "X′"],
    ].map(([p, name]) =>
      s(
        "g.section-end",
        { transform: `translate(${p[0]} ${p[1]})` },
        s("circle", { r: 11 }),
        s("text", { y: 4, "text-anchor": "middle" }, name),
      ),
    ),
  ];
}

/** The course that is being drawn: a channel's or a polygon's corners so far, and on to the pointer. @param {State} state @param {import("../types.js").PlateDocument} document @param {(p: Point) => Point} at @param {import("../types.js").Stage} stage */
function drawCourse(state, document, at, { roots, room }) {
  const places = /** @type {(string|Point)[]} */ (state.course ?? []);
  const made = [];
  if (state.tool?.use === "box") return drawBox(state, at);
  if (places.length) {
    const points = /** @type {Point[]} */ (
      places.map((p) =>
        typeof p === "string"
          ? (roots.get(p) ?? portPlace(state, p) ?? [find(document, p)?.item.x_mm ?? 0, find(document, p)?.item.y_mm ?? 0])
          : p,
      )
    );
    const ahead = state.snap?.point ?? state.cursor;
    const all = ahead ? [...points, ahead] : points;
    const d = `M${all.map((p) => at(p).join(" ")).join("L")}`;
    // A channel is drawn with the room that groove and screws will need around it.
    if (state.tool?.use === "channel" && state.layers.seal !== "hidden")
      made.push(
        ...room().map((beyond) =>
          s("path.room", { d, "stroke-width": (likeLast(document).width_mm + 2 * beyond) * state.view.scale }),
        ),
      );
    made.push(s("path.course", { d }));
    made.push(...points.map((p) => s("circle.course-corner", { cx: at(p)[0], cy: at(p)[1], r: 5 })));
    if (ahead) {
      const from = points[points.length - 1];
      made.push(
        label(`${format(distance(from, ahead), state.unit, 2)} ${state.unit}`, [at(ahead)[0], at(ahead)[1] - 24]),
      );
    }
  }
  if (state.marquee) made.push(boxBetween(state.marquee.map(at)));
  return made;
}

/** The box of two clicks, on to where the hand is. @param {State} state @param {(p: Point) => Point} at */
function drawBox({ course, snap, cursor }, at) {
  const first = course.find((p) => typeof p !== "string");
  const ahead = snap?.point ?? cursor;
  if (!first) return [];
  return [s("circle.course-corner", { cx: at(first)[0], cy: at(first)[1], r: 5 }), ...(ahead ? [boxBetween([at(first), at(ahead)])] : [])];
}

/** @param {Point[]} corners two opposite ones, px */
const boxBetween = ([a, b]) =>
  s("rect.marquee", {
    x: Math.min(a[0], b[0]),
    y: Math.min(a[1], b[1]),
    width: Math.abs(a[0] - b[0]),
    height: Math.abs(a[1] - b[1]),
  });

/** The sign of each kind of place that is snapped to; the others have a square. @type {Record<string, string>} */
const SNAP_SIGNS = { grid: "M-5 0H5M0 -5V5", edge: "M-6 -6L6 6M-6 6L6 -6", midpoint: "M-6 -6L6 6M-6 6L6 -6" };

/** @param {State} state @param {(p: Point) => Point} at @param {(p: Point) => string} shift */
function drawSnap({ snap }, at, shift) {
  if (!snap) return [];
  const [x, y] = at(snap.point);
  return [
    ...snap.guides.map(([a, b]) => s("path.guide", { d: `M${at(a).join(" ")}L${at(b).join(" ")}` })),
    ...(snap.kind
      ? [
          s(
            "g.snap-sign",
            { transform: shift(snap.point) },
            s("path", { d: SNAP_SIGNS[snap.kind] ?? "M-7 -7H7V7H-7Z" }),
          ),
        ]
      : []),
    ...(snap.kind && snap.kind !== "grid"
      ? [s("text.snap-words", { transform: `translate(${x + 14} ${y + 20})` }, snap.label)]
      : []),
  ];
}
