/** Corners of a channel's centreline by number, one row each. */

import { h } from "../dom.js";
import { insertPoint, placeOnCourse, removePoint, straighten } from "../model/centrelines.js";
import { cornersOf } from "../model/document.js";
import { setValue } from "../model/edit.js";
import { bareLength } from "./barelength.js";
import { button } from "./form.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Path} Path
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/** Corners of a channel. @param {Parts} parts @param {PlateDocument} document @param {Item} channel */
export function channelCorners(parts, document, channel) {
  const points = channel.points ?? [];
  const { spot } = parts.store.get();
  return h(
    "section.sub",
    { role: "group", "aria-label": "Corners" },
    h("h4", {}, `Corners (${points.length})`),
    points.length
      ? h(
          "ol.corners",
          {},
          points.map((point, i) =>
            h(
              "li",
              { class: spot?.index === i ? "chosen" : null },
              coordinates(parts, channel.id, ["points", i], point, `Corner ${i + 1}`),
              radius(
                parts,
                channel.id,
                ["points", i, "bend_radius_mm"],
                point.bend_radius_mm,
                `Corner ${i + 1} bend radius`,
              ),
              cornerButtons(parts, channel.id, i),
            ),
          ),
        )
      : h("p.quiet", {}, "It runs straight."),
    button("Add a corner", () => addCorner(parts, document, channel), { "data-keep": "add-corner" }),
  );
}

/** @param {Parts} parts @param {string} id @param {number} i */
function cornerButtons({ actions, stage }, id, i) {
  const corner = `corner ${i + 1}`;
  return [
    button("∟", () => actions.edit(`Square ${corner} of ${id}`, (d) => straighten(d, id, i, "square", stage.roots)), {
      "aria-label": `Make ${corner} square`,
      title: "Square",
      "data-keep": `sq-${i}`,
    }),
    button("45°", () => actions.edit(`Slant ${corner} of ${id}`, (d) => straighten(d, id, i, "slant", stage.roots)), {
      "aria-label": `Make ${corner} a 45° one`,
      title: "One leg at 45°",
      "data-keep": `sl-${i}`,
    }),
    button("×", () => actions.edit(`Remove ${corner} of ${id}`, (d) => removePoint(d, id, i), { spot: null }), {
      "aria-label": `Remove ${corner}`,
      "data-keep": `rm-${i}`,
    }),
  ];
}

/** A corner in the middle of the longest leg. @param {Parts} parts @param {PlateDocument} document @param {Item} channel */
function addCorner({ actions, stage }, document, channel) {
  const corners = cornersOf(document, channel, stage.roots);
  const legs = corners.slice(1).map((to, i) => Math.hypot(to[0] - corners[i][0], to[1] - corners[i][1]));
  if (!legs.length) return;
  const at = legs.indexOf(Math.max(...legs));
  const [a, b] = [corners[at], corners[at + 1]];
  const spot = placeOnCourse(document, channel.id, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], stage.roots);
  if (!spot) return;
  actions.edit(`Add a corner to ${channel.id}`, (d) => insertPoint(d, channel.id, spot.index, spot.point), {
    spot: { id: channel.id, index: spot.index },
  });
}

/** @param {Parts} parts @param {string} id @param {Path} at @param {{x_mm: number, y_mm: number}} place @param {string} name */
const coordinates = (parts, id, at, place, name) => [
  number(parts, id, [...at, "x_mm"], place.x_mm, `${name} from the left`),
  number(parts, id, [...at, "y_mm"], place.y_mm, `${name} from the front`),
];

/** @param {Parts} parts @param {string} id @param {Path} path @param {number|null|undefined} value @param {string} name */
const radius = (parts, id, path, value, name) => number(parts, id, path, value ?? null, name, "R");

/** @param {Parts} parts @param {string} id @param {Path} path @param {number|null} value @param {string} name @param {string} [hint] */
const number = (parts, id, path, value, name, hint) =>
  bareLength(parts, { keep: `${id}-${path.join("-")}`, name, value, hint }, (next) =>
    parts.actions.edit(`Change ${name.toLowerCase()} of ${id}`, (d) => setValue(d, id, path, next)),
  );
