/** A small plot of a device's points, drawn while they are typed. */

import { h, s } from "../dom.js";
import { line } from "../model/curve.js";
import { format } from "../model/quantity.js";

/** @typedef {import("../types.js").Point} Point */

const [WIDE, HIGH] = [280, 150];
const [LEFT, BOTTOM, TOP, RIGHT] = [44, 30, 8, 10];

/**
 * @param {Point[]} points in the units that are shown @param {{pump: boolean, x: string, y: string, title: string}} words axes with their units
 */
export function curvePlot(points, words) {
  const drawn = line(points, words.pump);
  const all = [...points, ...drawn];
  const top = nice(Math.max(...all.map(([, y]) => y), 0));
  const far = nice(Math.max(...all.map(([x]) => x), 0));
  const x = (/** @type {number} */ value) => LEFT + (value / far) * (WIDE - LEFT - RIGHT);
  const y = (/** @type {number} */ value) => HIGH - BOTTOM - (value / top) * (HIGH - BOTTOM - TOP);
  const path = drawn.map(([a, b], i) => `${i ? "L" : "M"}${x(a).toFixed(1)} ${y(b).toFixed(1)}`).join("");
  const told = points.map(([a, b]) => `${format(b, "mm", 3)} at ${format(a, "mm", 3)}`).join(", ");
  return h(
    "figure.curve-plot",
    {},
    s(
      "svg",
      { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": `${words.title}: ${points.length ? told : "no points yet"}.` },
      s("path.plot-axes", { d: `M${LEFT} ${TOP}V${HIGH - BOTTOM}H${WIDE - RIGHT}`, fill: "none" }),
      [0.5, 1].map((share) => [
        s("path.plot-grid", { d: `M${LEFT} ${y(top * share)}H${WIDE - RIGHT}M${x(far * share)} ${TOP}V${HIGH - BOTTOM}`, fill: "none" }),
        s("text.plot-tick", { x: LEFT - 4, y: y(top * share) + 4, "text-anchor": "end" }, format(top * share, "mm", 3)),
        s("text.plot-tick", { x: x(far * share), y: HIGH - BOTTOM + 12, "text-anchor": "middle" }, format(far * share, "mm", 3)),
      ]),
      s("text.plot-tick", { x: WIDE - RIGHT, y: HIGH - 3, "text-anchor": "end" }, words.x),
      s("text.plot-tick", { x: 2, y: HIGH - 3 }, words.y),
      path ? s("path.plot-line", { d: path, fill: "none" }) : null,
      points.map(([a, b]) => s("circle.plot-point", { cx: x(a).toFixed(1), cy: y(b).toFixed(1), r: 3 })),
    ),
  );
}

/** The end of an axis: 1, 2 or 5 times a power of ten. @param {number} value */
export function nice(value) {
  if (!(value > 0)) return 1;
  const power = 10 ** Math.floor(Math.log10(value));
  return ([1, 2, 5, 10].find((step) => step * power >= value * (1 - 1e-9)) ?? 10) * power;
}
