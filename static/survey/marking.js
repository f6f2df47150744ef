/** The dialog in which points and straight edges are marked in the photo. */

import { dialog } from "../panels/dialogs.js";
import { focusOn, h, s } from "../dom.js";
import { outlineCorners } from "../model/document.js";
import { put } from "../model/edit.js";
import { QuantityError, format, parseQuantity } from "../model/quantity.js";
import { button } from "../panels/form.js";
import { surveyOf } from "./edits.js";
import { chosen, typed } from "./typed.js";

/**
 * @typedef {import("../format_types.js").PhotoMark} PhotoMark
 * @typedef {import("../format_types.js").Photo} Photo
 * @typedef {{x_px: number, y_px: number}} Pixel
 * @typedef {{context: import("../steps/parts.js").Context, local: import("../types.js").Memory, draw: () => void, edge: Pixel[]|null,
 *   shown: number}} Marking
 *   edge: the points of the edge that is being marked, null while points are; shown: px on the screen for one of the photo's
 */

/** An edge needs so many points; more make it surer. */
const EDGE_POINTS = 3;
const MOST_EDGE_POINTS = 40;

/** A mark as it is drawn in the photo. @param {PhotoMark} m @param {number} i @param {number} shown px on the screen for one of the photo's */
function cross(m, i, shown) {
  const size = 9 / shown;
  return s(
    "g.photo-mark",
    { class: m.check ? "photo-mark check" : "photo-mark" },
    s("circle", { cx: m.x_px, cy: m.y_px, r: size }),
    s("path", {
      d: `M${m.x_px - size} ${m.y_px}h${2 * size}M${m.x_px} ${m.y_px - size}v${2 * size}`,
      stroke: "#cc79a7",
      "vector-effect": "non-scaling-stroke",
    }),
    s("text", { x: m.x_px + size, y: m.y_px - size, "font-size": 16 / shown, "stroke-width": 3 / shown }, i + 1),
  );
}

/** The dialog. @param {import("../steps/parts.js").Context} context */
export function marking(context) {
  const { store } = context;
  const { plate, document: plan } = store.get();
  const first = plan.photo;
  if (!plate || !first) return;
  const shown = Math.min(1, 860 / first.width_px);
  const layer = s("g");
  const list = h("div");
  const picture = s(
    "svg",
    {
      width: first.width_px * shown,
      height: first.height_px * shown,
      viewBox: `0 0 ${first.width_px} ${first.height_px}`,
      role: "img",
      "aria-label": "The photo; click a point whose place you know, or points along a straight edge",
    },
    s("image", { href: `/api/plates/${plate.id}/files/${first.file}`, width: first.width_px, height: first.height_px }),
    layer,
  );
  /** @type {Marking} */
  const now = { context, local: {}, draw, edge: null, shown };

  function draw() {
    const kept = store.get().document.photo;
    if (!kept) return;
    const marks = kept.marks ?? [];
    layer.replaceChildren(
      ...[...(kept.edges ?? []).map((edge) => edge.points), ...(now.edge ? [now.edge] : [])].map(edgeLine),
      ...marks.map((m, i) => cross(m, i, shown)),
    );
    const active = /** @type {HTMLElement|null} */ (document.activeElement)?.dataset.keep;
    list.replaceChildren(...listed(now, kept));
    if (active) focusOn(`.dialog-body [data-keep="${CSS.escape(active)}"]`);
  }

  picture.addEventListener("click", (event) => {
    const box = picture.getBoundingClientRect();
    const tenth = (/** @type {number} */ part, /** @type {number} */ whole) => Math.round(part * whole * 10) / 10;
    clicked(now, {
      x_px: tenth((event.clientX - box.left) / box.width, first.width_px),
      y_px: tenth((event.clientY - box.top) / box.height, first.height_px),
    });
  });
  draw();
  dialog(
    "Points in the photo",
    [h("div.photo-frame", { tabindex: 0, role: "region", "aria-label": "Photo" }, picture), list],
    { class: "wide" },
  );
}

/** @param {readonly Pixel[]} points */
const edgeLine = (points) =>
  s("polyline.photo-edge", {
    points: points.map((p) => `${p.x_px},${p.y_px}`).join(" "),
    "vector-effect": "non-scaling-stroke",
  });

/** @param {Marking} now @param {string} label @param {PhotoMark[]} marks */
function change({ context, draw }, label, marks) {
  context.actions.edit(label, (d) => put(d, ["photo", "marks"], marks));
  draw();
}

/** A click in the photo: one more mark, or one more point of the edge. @param {Marking} now @param {Pixel} at */
function clicked(now, at) {
  const { store } = now.context;
  if (now.edge) {
    if (now.edge.length < MOST_EDGE_POINTS) now.edge.push(at);
    now.draw();
    return;
  }
  const marks = store.get().document.photo?.marks ?? [];
  // Corners of the floor come first, in their order, as the likeliest; any mark beyond the fourth checks.
  change(now, "Mark a point in the photo", [
    ...marks,
    { ...at, ...guess(store.get(), marks.length), ...(marks.length >= 4 ? { check: true } : {}) },
  ]);
  requestAnimationFrame(() => focusOn(`[data-keep="mark-x-${marks.length}"]`));
}

/** What stands under the photo. @param {Marking} now @param {Photo} kept @returns {Node[]} */
function listed(now, kept) {
  const marks = kept.marks ?? [];
  const made = [
    h("p.quiet", {}, advice(now, marks.length)),
    marks.length > 0 &&
      h(
        "ol.photo-marks",
        {},
        marks.map((m, i) => markRow(now, marks, m, i)),
      ),
    edges(now, kept),
  ];
  return made.filter((one) => one instanceof Node);
}

/** @param {Marking} now @param {number} count of marks */
function advice({ edge }, count) {
  if (edge)
    return `Click points along one edge that is straight on the floor, ${EDGE_POINTS} at least, spread over its length. ${edge.length} so far.`;
  if (count < 4)
    return `Click ${4 - count} more ${count === 3 ? "point" : "points"} whose place you know, spread over the floor; then type where each is.`;
  return "Click further known points: they check how far the photo is to be trusted.";
}

/** @param {Marking} now @param {Photo} kept */
function edges(now, kept) {
  const all = kept.edges ?? [];
  /** @type {Keep} */
  const keep = (label, next) => {
    now.edge = null;
    now.context.actions.edit(label, (d) => put(d, ["photo", "edges"], next.length ? next : undefined));
    now.draw();
  };
  return h(
    "section.photo-edges",
    { "aria-label": "Straight edges" },
    h("h3", {}, "Straight edges"),
    h("p.quiet", {}, "An edge of a sheet or a rule on the floor shows how the lens bends lines."),
    all.length > 0 && h("ul.chips", {}, all.map((_, i) => edgeChip(all, i, keep))),
    h("div.actions-row", {}, now.edge ? edgeButtons(now, now.edge, all, keep) : newEdgeButton(now)),
  );
}

/** @typedef {NonNullable<Photo["edges"]>} Edges */
/** @typedef {(label: string, next: Edges) => void} Keep */

/** @param {Edges} all @param {number} i @param {Keep} keep */
function edgeChip(all, i, keep) {
  const label = `Remove edge ${i + 1}`;
  const without = () => all.filter((_, k) => k !== i);
  return h(
    "li",
    {},
    `Edge ${i + 1}, ${all[i].points.length} points `,
    button("×", () => keep(label, without()), { class: "small", "aria-label": label }),
  );
}

/** While an edge is being clicked. @param {Marking} now @param {NonNullable<Marking["edge"]>} edge @param {Edges} all @param {Keep} keep */
const edgeButtons = (now, edge, all, keep) => [
  button("Keep this edge", () => keep("Mark a straight edge", [...all, { points: edge }]), {
    class: "do",
    disabled: edge.length < EDGE_POINTS,
    "data-keep": "edge-keep",
  }),
  button("Cancel", () => {
    now.edge = null;
    now.draw();
  }),
];

/** @param {Marking} now */
const newEdgeButton = (now) =>
  button(
    "Mark a straight edge",
    () => {
      now.edge = [];
      now.draw();
    },
    { "data-keep": "edge-new" },
  );

/** A mark's place, and what it is for. @param {Marking} now @param {readonly PhotoMark[]} marks @param {PhotoMark} m @param {number} i */
function markRow(now, marks, m, i) {
  const { store } = now.context;
  const { unit, answer } = store.get();
  const set = (/** @type {Partial<PhotoMark>} */ values) =>
    change(
      now,
      `Change mark ${i + 1}`,
      marks.map((other, k) => (k === i ? { ...other, ...values } : other)),
    );
  const places = (answer?.survey?.points ?? []).filter((p) => !p.loose);
  const rounded = (/** @type {number} */ mm) => Math.round(mm * 1000) / 1000;
  return h(
    "li",
    {},
    h("strong", {}, i + 1),
    h("label", {}, `From the left, ${unit}`, placeInput(now, m, i, "x_mm", set)),
    h("label", {}, `From the front, ${unit}`, placeInput(now, m, i, "y_mm", set)),
    places.length > 0 &&
      chosen({
        keep: `mark-point-${i}`,
        label: `Mark ${i + 1} is the surveyed point`,
        value: "",
        empty: "Survey point…",
        options: places.map((p) => [p.id, p.id]),
        change: (id) => {
          const p = places.find((other) => other.id === id);
          if (p) set({ x_mm: rounded(p.x_mm), y_mm: rounded(p.y_mm) });
        },
      }),
    h(
      "span.line",
      {},
      h(
        "label.check",
        {},
        h("input", {
          type: "checkbox",
          checked: Boolean(m.check),
          onchange: (event) => set({ check: event.currentTarget.checked }),
        }),
        "checks",
      ),
      button(
        "×",
        () =>
          change(
            now,
            `Remove mark ${i + 1}`,
            marks.filter((_, k) => k !== i),
          ),
        { class: "small", "aria-label": `Remove mark ${i + 1}` },
      ),
    ),
  );
}

/** @param {Marking} now @param {PhotoMark} mark @param {number} i @param {"x_mm"|"y_mm"} key @param {(values: Partial<PhotoMark>) => void} set */
function placeInput({ context, local, draw }, mark, i, key, set) {
  const { unit } = context.store.get();
  const keep = `mark-${key[0]}-${i}`;
  return typed(
    { local, again: draw },
    {
      keep,
      label: `Mark ${i + 1}, ${key === "x_mm" ? "from the left" : "from the front"}`,
      value: format(mark[key], unit),
      take: (text) => {
        const value = parseQuantity(text, "length", unit);
        if (Math.abs(value) > 5000) throw new QuantityError("Nothing on a case floor is farther away than 5 m.");
        delete local.typed[keep];
        set({ [key]: value });
      },
    },
  );
}

/** The likeliest place of the next mark: a corner of the floor. @param {import("../types.js").State} state @param {number} count */
function guess({ document, answer }, count) {
  const survey = surveyOf(document);
  const corner = survey.outlines.find((o) => o.what === "floor")?.corners?.[count];
  const point = (answer?.survey?.points ?? []).find((p) => p.id === corner && !p.loose);
  if (point) return { x_mm: point.x_mm, y_mm: point.y_mm };
  const { outline } = document.floor;
  if (outline.shape === "rectangle") {
    const [sx, sy] = [
      [-1, -1],
      [1, -1],
      [1, 1],
      [-1, 1],
    ][count] ?? [0, 0];
    return { x_mm: outline.x_mm + (sx * outline.width_mm) / 2, y_mm: outline.y_mm + (sy * outline.depth_mm) / 2 };
  }
  const vertex = outlineCorners(outline)[count];
  return { x_mm: vertex?.[0] ?? 0, y_mm: vertex?.[1] ?? 0 };
}
