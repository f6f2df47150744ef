/** What lies over the drawing at the screen's own size: handles, measures, the snap's sign, findings, rulers' guides. */

import { s } from "../dom.js";
import { cornersOf, find, outlineCorners, radiiOf } from "../model/document.js";
import { circlePath } from "../geometry/follow.js";
import { distance, rounded } from "../geometry/path.js";
import { format } from "../model/quantity.js";
import { toScreen } from "../geometry/view.js";

/** @typedef {import("../types.js").Point} Point */

/** The sign of each level: a shape and a letter beside the colour. */
/** @type {Readonly<Record<string, {d: string, letter: string}>>} */
export const SIGNS = Object.freeze({
  error: { d: "M-5 -8H5L8 -5V5L5 8H-5L-8 5V-5Z", letter: "!" },
  warning: { d: "M0 -9L9 7H-9Z", letter: "?" },
  note: { d: "M0 -7A7 7 0 1 1 0 7A7 7 0 1 1 0 -7Z", letter: "i" },
});

/** @param {"error"|"warning"|"note"} level @param {string} [title] */
export function sign(level, title) {
  return s(
    `svg.sign.${level}`,
    {
      viewBox: "-10 -10 20 20",
      width: 20,
      height: 20,
      "aria-hidden": title ? null : "true",
      role: title ? "img" : null,
      "aria-label": title ?? null,
    },
    s("path", { d: SIGNS[level].d }),
    s("text", { x: 0, y: level === "warning" ? 5 : 4, "text-anchor": "middle" }, SIGNS[level].letter),
  );
}

/** @param {{store: any, stage: any, layer: SVGGElement}} parts */
export function createOverlay({ store, stage, layer }) {
  let waiting = false;
  const parts = ["findings", "measure", "section", "course", "handles", "snap", "pen"].map((name) =>
    s(`g.over-${name}`),
  );
  const [findings, measure, section, course, handles, snap, pen] = parts;
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
    findings.replaceChildren(...drawFindings(state, at, shift));
    measure.replaceChildren(...drawMeasure(state, at));
    section.replaceChildren(...drawSection(state, at));
    course.replaceChildren(...drawCourse(state, document, at, stage.roots));
    handles.replaceChildren(
      ...(state.tool ? [] : drawHandles(state, document, at, shift, stage.roots)),
      ...drawGhosts(state, document, at, shift),
    );
    snap.replaceChildren(...drawSnap(state, at, shift));
    pen.replaceChildren(
      ...(state.pen && state.penShown
        ? [s("path.pen", { d: "M-14 0H-4M4 0H14M0 -14V-4M0 4V14", transform: shift(state.pen) })]
        : []),
    );
  }

  store.subscribe(later);
  return { draw };
}

/** @param {any} state @param {(p: Point) => Point} at @param {(p: Point) => string} shift */
function drawFindings(state, at, shift) {
  if (state.layers.findings === "hidden") return [];
  const found = state.look?.findings ?? [];
  // The sign stands beside its place, so that it hides nothing and what lies there can be taken hold of. Notes wait
  // until somebody checks.
  const made = found
    .filter((/** @type {any} */ f) => f.at && !f.accepted)
    .flatMap((/** @type {any} */ f, /** @type {number} */ i) =>
      f.level === "note" && state.step !== "check" && f !== state.finding
        ? []
        : [
            s(
              `g.mark.${f.level}`,
              { transform: shift(f.at) },
              s("path.mark-lead", { d: "M0 0L-11 -15" }),
              s("circle.mark-place", { r: 2.5 }),
              s(
                "g",
                { transform: "translate(-14 -20)", dataset: { finding: i } },
                s("circle.target", { r: 12 }),
                s("path", { d: SIGNS[f.level].d }),
                s("text", { y: f.level === "warning" ? 5 : 4, "text-anchor": "middle" }, SIGNS[f.level].letter),
              ),
            ),
          ],
    );
  const shown = state.finding;
  if (shown?.at) {
    if (shown.line) {
      const [a, b] = shown.line.map(at);
      made.push(
        s("path.measured-halo", { d: `M${a.join(" ")}L${b.join(" ")}` }),
        s("path.measured", { d: `M${a.join(" ")}L${b.join(" ")}` }),
        ...[a, b].map((end) => s("circle.measured-end", { cx: end[0], cy: end[1], r: 3 })),
      );
      if (shown.value !== null) {
        const words = `${format(shown.value, "mm", 2)} ${shown.unit}`;
        made.push(label(words, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2 - 14], shown.level));
      }
    }
    made.push(s(`path.halo.${shown.level}`, { d: circlePath([0, 0], 18), transform: shift(shown.at) }));
  }
  return made;
}

/** @param {string} words @param {Point} at @param {string} [more] */
function label(words, [x, y], more = "") {
  const width = words.length * 7 + 12;
  return s(
    `g.over-label${more ? `.${more}` : ""}`,
    { transform: `translate(${x} ${y})` },
    s("rect", { x: -width / 2, y: -10, width, height: 20, rx: 3 }),
    s("text", { y: 4, "text-anchor": "middle" }, words),
  );
}

/** @param {any} state @param {(p: Point) => Point} at */
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

/** @param {any} state @param {(p: Point) => Point} at */
function drawSection(state, at) {
  const line = state.sectionLine;
  if (!line) return [];
  const [a, b] = [at(line[0]), at(line[1] ?? state.snap?.point ?? line[0])];
  return [
    s("path.section-line", { d: `M${a.join(" ")}L${b.join(" ")}` }),
    ...[
      [a, "A"],
      [b, "B"],
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

/** The course that is being drawn: a channel's or a polygon's corners so far, and on to the pointer. @param {any} state @param {any} document @param {(p: Point) => Point} at @param {Map<string, Point>} roots */
function drawCourse(state, document, at, roots) {
  const places = /** @type {(string|Point)[]} */ (state.course ?? []);
  const made = [];
  if (places.length) {
    const points = /** @type {Point[]} */ (
      places.map((p) =>
        typeof p === "string"
          ? (roots.get(p) ?? [find(document, p)?.item.x_mm ?? 0, find(document, p)?.item.y_mm ?? 0])
          : p,
      )
    );
    const ahead = state.snap?.point ?? state.pen;
    const all = ahead ? [...points, ahead] : points;
    made.push(s("path.course", { d: `M${all.map((p) => at(p).join(" ")).join("L")}` }));
    made.push(...points.map((p) => s("circle.course-corner", { cx: at(p)[0], cy: at(p)[1], r: 5 })));
    if (ahead) {
      const from = points[points.length - 1];
      made.push(
        label(`${format(distance(from, ahead), state.unit, 2)} ${state.unit}`, [at(ahead)[0], at(ahead)[1] - 24]),
      );
    }
  }
  if (state.marquee) {
    const [a, b] = state.marquee.map(at);
    made.push(
      s("rect.marquee", {
        x: Math.min(a[0], b[0]),
        y: Math.min(a[1], b[1]),
        width: Math.abs(a[0] - b[0]),
        height: Math.abs(a[1] - b[1]),
      }),
    );
  }
  return made;
}

/** @param {any} state @param {any} document @param {(p: Point) => Point} at @param {(p: Point) => string} shift @param {Map<string, Point>} roots */
function drawHandles(state, document, at, shift, roots) {
  if (state.selection.length !== 1)
    return state.selection.map((/** @type {string} */ id) => pickedSign(document, id, at)).filter(Boolean);
  const [id] = state.selection;
  const found = find(document, id);
  if (!found || found.item.locked) return [];
  if (found.kind === "channel")
    return channelHandles(state, found.item, cornersOf(document, found.item, roots), at, shift);
  const outline = found.kind !== "device" ? found.item.outline : null;
  if (outline?.shape === "polygon")
    return outlineCorners(outline).map((p, i) => handle("vertex", i, p, shift, state.spot?.index === i));
  if (outline) {
    const corners = outlineCorners(outline);
    return corners.map((p, i) => handle("size", i, p, shift, false));
  }
  return [];
}

/** @param {any} document @param {string} id @param {(p: Point) => Point} at */
function pickedSign(document, id, at) {
  const found = find(document, id);
  if (!found) return null;
  const p =
    found.item.outline && found.kind !== "device"
      ? outlineCorners(found.item.outline)[0]
      : found.kind === "channel"
        ? cornersOf(document, found.item)[0]
        : [found.item.x_mm ?? 0, found.item.y_mm ?? 0];
  return p
    ? s("path.picked-sign", {
        d: "M-4 0L-1 3L5 -4",
        transform: `translate(${at(/** @type {Point} */ (p))[0] - 10} ${at(/** @type {Point} */ (p))[1] - 10})`,
      })
    : null;
}

/** @param {any} state @param {any} channel @param {Point[]} corners @param {(p: Point) => Point} at @param {(p: Point) => string} shift */
function channelHandles(state, channel, corners, at, shift) {
  const made = [];
  const bends = rounded(corners, radiiOf(channel));
  const offset = channel.start ? 1 : 0;
  for (let i = 0; i + 1 < corners.length; i += 1) {
    const [a, b] = [bends[i].to, bends[i + 1].from];
    const middle = /** @type {Point} */ ([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
    if (distance(at(a), at(b)) > 56)
      made.push(
        s(
          "g.handle.add-corner",
          { transform: shift(middle), dataset: { handle: "insert", index: i + 1 - offset } },
          s("circle.target", { r: 12 }),
          s("path", { d: "M-5 0H5M0 -5V5" }),
        ),
      );
  }
  (channel.points ?? []).forEach((/** @type {any} */ p, /** @type {number} */ i) => {
    const bend = bends[i + offset];
    const chosen = state.spot?.id === channel.id && state.spot.index === i;
    if (bend && bend.radius > 0.01) {
      // The handle of the bend's radius sits in the middle of its arc.
      const mid = arcMiddle(bend);
      made.push(
        s(
          "g.handle.bend",
          { transform: shift(mid), dataset: { handle: "bend", index: i } },
          s("circle.target", { r: 12 }),
          s("path", { d: "M0 -5L5 0L0 5L-5 0Z" }),
        ),
      );
      if (chosen) made.push(label(`R ${format(bend.radius, state.unit, 2)}`, [at(mid)[0], at(mid)[1] + 24]));
    }
    made.push(handle("corner", i, [p.x_mm, p.y_mm], shift, chosen));
  });
  return made;
}

/** @param {{corner: Point, from: Point, to: Point, radius: number, turn: number}} bend @returns {Point} */
export function arcMiddle({ corner, from, to, radius, turn }) {
  const middle = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
  const reach = distance(corner, /** @type {Point} */ (middle)) || 1;
  const inward = radius / Math.cos(Math.abs(turn) / 2) - radius;
  return [
    corner[0] + ((middle[0] - corner[0]) / reach) * inward,
    corner[1] + ((middle[1] - corner[1]) / reach) * inward,
  ];
}

/** @param {string} kind @param {number} index @param {Point} p @param {(p: Point) => string} shift @param {boolean} chosen */
function handle(kind, index, p, shift, chosen) {
  return s(
    `g.handle.${kind}${chosen ? ".chosen" : ""}`,
    { transform: shift(p), dataset: { handle: kind, index } },
    s("circle.target", { r: 12 }),
    s("circle.knob", { r: 5 }),
  );
}

/** Ghost markers of the fit readings: where each port should sit. @param {any} state @param {any} document @param {(p: Point) => Point} at @param {(p: Point) => string} shift */
function drawGhosts(state, document, at, shift) {
  if (state.step !== "test-piece") return [];
  return (document.fit_readings ?? []).flatMap((/** @type {any} */ reading) => {
    const port = find(document, reading.port)?.item;
    if (!port) return [];
    const to = /** @type {Point} */ ([port.x_mm + (reading.dx_mm ?? 0), port.y_mm + (reading.dy_mm ?? 0)]);
    return [
      s("path.ghost-way", { d: `M${at([port.x_mm, port.y_mm]).join(" ")}L${at(to).join(" ")}` }),
      s(
        "g.handle.ghost",
        { transform: shift(to), dataset: { handle: "ghost", port: reading.port } },
        s("circle.target", { r: 12 }),
        s("circle", { r: 8 }),
        s("path", { d: "M-12 0H12M0 -12V12" }),
      ),
    ];
  });
}

/** @param {any} state @param {(p: Point) => Point} at @param {(p: Point) => string} shift */
function drawSnap(state, at, shift) {
  const snap = state.snap;
  if (!snap) return [];
  const made = snap.guides.map((/** @type {[Point, Point]} */ [a, b]) =>
    s("path.guide", { d: `M${at(a).join(" ")}L${at(b).join(" ")}` }),
  );
  if (snap.kind) {
    made.push(
      s(
        "g.snap-sign",
        { transform: shift(snap.point) },
        s("path", {
          d:
            snap.kind === "grid"
              ? "M-5 0H5M0 -5V5"
              : snap.kind === "edge" || snap.kind === "midpoint"
                ? "M-6 -6L6 6M-6 6L6 -6"
                : "M-7 -7H7V7H-7Z",
        }),
      ),
    );
    if (snap.kind !== "grid")
      made.push(
        s(
          "text.snap-words",
          { transform: `translate(${at(snap.point)[0] + 14} ${at(snap.point)[1] + 20})` },
          snap.label,
        ),
      );
  }
  return made;
}
