/** Corners of an outline by number: one row each, with its rounding and the arch of the edge that begins there. */

import { h } from "../dom.js";
import { edgesOf, along } from "../geometry/outline.js";
import { distance } from "../geometry/path.js";
import { outlineOf } from "../model/document.js";
import { withOutline } from "../model/outlines.js";
import { archOf, arched, bulgeOf, cornerInserted, cornerMoved, cornerRemoved, cornerRounded } from "../model/polygons.js";
import { bareLength } from "./barelength.js";
import { button } from "./form.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../model/polygons.js").Polygon} Polygon
 */

/** Where the numbers of a corner stand in the document: while it is dragged they follow. @type {Record<string, string>} */
const KEYS = { "from the left": "x_mm", "from the front": "y_mm", radius: "corner_radius_mm" };
/** Rows shown at once: an outline from a drawing can have hundreds of corners. */
const MOST_ROWS = 60;

/** @param {Pick<Parts, "store"|"actions">} parts @param {PlateDocument} document @param {string} id */
export function outlineCorners(parts, document, id) {
  const outline = outlineOf(document, id);
  if (outline?.shape !== "polygon") return null;
  const { vertices } = outline;
  const { spot } = parts.store.get();
  const first = spot?.id === id ? Math.max(0, Math.min(spot.index - MOST_ROWS / 2, vertices.length - MOST_ROWS)) : 0;
  return h(
    "section.sub",
    { role: "group", "aria-label": "Corners of the outline" },
    h("h4", {}, `Corners (${vertices.length})`),
    h(
      "p.quiet",
      {},
      "Its number selects a corner, ⌒ the edge that begins there: then the arrow keys on the drawing move it, Delete removes it.",
    ),
    h(
      "ol.corners.outline-corners",
      {},
      vertices.slice(first, first + MOST_ROWS).map((_, k) => row(parts, outline, id, first + k)),
    ),
    vertices.length > MOST_ROWS
      ? h("p.quiet", {}, `${vertices.length - MOST_ROWS} more: select a corner on the drawing to see it here.`)
      : null,
    button("Add a corner", () => addCorner(parts, id), { "data-keep": "add-outline-corner" }),
  );
}

/** @param {Pick<Parts, "store"|"actions">} parts @param {Polygon} outline @param {string} id @param {number} i */
function row(parts, outline, id, i) {
  const { store } = parts;
  const { spot } = store.get();
  const own = spot?.id === id && spot.index === i ? spot : null;
  const vertex = outline.vertices[i];
  const name = `Corner ${i + 1}`;
  const roundable = !bulgeOf(outline, i) && !bulgeOf(outline, i - 1);
  /** @param {string} what @param {string} hint @param {number} value @param {(outline: Polygon, value: number) => Polygon} set @param {boolean} [enabled] */
  const entry = (what, hint, value, set, enabled = true) =>
    bareLength(
      parts,
      {
        keep: `${id}-outline-vertices-${i}-${KEYS[what] ?? "arch"}`,
        name: `${name} ${what}`,
        hint,
        signed: hint !== "R",
        // A corner that is not rounded and an edge that is not arched are empty.
        value: hint && Math.abs(value) < 1e-9 ? null : value,
        locked: enabled ? null : "Only where two straight edges meet",
      },
      (next) => reshape(parts, id, `${name} ${what}`, (o) => set(o, next ?? 0)),
    );
  return h(
    "li",
    { class: own ? "chosen" : null },
    chooser(String(i + 1), `Select corner ${i + 1}`, Boolean(own && !own.edge), () =>
      store.set({ spot: own && !own.edge ? null : { id, index: i } }),
    ),
    entry("from the left", "", vertex.x_mm, (o, x) => cornerMoved(o, i, [x, o.vertices[i].y_mm])),
    entry("from the front", "", vertex.y_mm, (o, y) => cornerMoved(o, i, [o.vertices[i].x_mm, y])),
    entry("radius", "R", vertex.corner_radius_mm ?? 0, (o, r) => cornerRounded(o, i, r), roundable),
    chooser("⌒", `Select the edge after corner ${i + 1}`, Boolean(own?.edge), () =>
      store.set({ spot: own?.edge ? null : { id, index: i, edge: true } }),
    ),
    entry("arch of the next edge", "arch", archOf(outline, i), (o, arch) => arched(o, i, arch)),
    button("×", () => reshape(parts, id, `Remove corner ${i + 1}`, (o) => cornerRemoved(o, i), true), {
      "aria-label": `Remove corner ${i + 1}`,
      "data-keep": `out-rm-${i}`,
      disabled: cornerRemoved(outline, i) === outline,
    }),
  );
}

/** @param {string} words @param {string} label @param {boolean} pressed @param {() => void} act */
const chooser = (words, label, pressed, act) =>
  button(words, act, { "aria-label": label, "aria-pressed": String(pressed), class: "corner-pick", "data-keep": label });

/** @param {Pick<Parts, "actions">} parts @param {string} id @param {string} label @param {(outline: Polygon) => Polygon} change @param {boolean} [forget] */
const reshape = ({ actions }, id, label, change, forget = false) =>
  actions.edit(
    `${label} of ${id}`,
    (d) => withOutline(d, id, (outline) => (outline.shape === "polygon" ? change(outline) : outline)),
    forget ? { spot: null } : {},
  );

/** In the edge that is selected, or else in the longest. @param {Pick<Parts, "store"|"actions">} parts @param {string} id */
export function addCorner({ store, actions }, id) {
  const { spot, document } = store.get();
  const outline = outlineOf(document, id);
  if (outline?.shape !== "polygon") return;
  const edges = edgesOf(outline);
  const longest = edges.reduce((best, e, i) => (distance(e.from, e.to) > distance(edges[best].from, edges[best].to) ? i : best), 0);
  const at = spot?.id === id && spot.index < edges.length ? spot.index : longest;
  const { from, to, bulge } = edges[at];
  actions.edit(
    `Add a corner to ${id}`,
    (d) => withOutline(d, id, () => cornerInserted(outline, at, along(from, to, bulge, 0.5))),
    { spot: { id, index: at + 1 } },
  );
}
