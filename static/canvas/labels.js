/** The plan's ids and names moved to where they can be read, at the size that they have on the screen. */

import { LAYER_OF, roughRadius } from "../geometry/hits.js";
import { about, alongCourse, around, beside, boxAbout, clusters, placeLabels, signOffsets } from "../geometry/labelplaces.js";
import { DEFAULTS } from "../format.js";
import { toScreen } from "../geometry/view.js";
import { cornersOf, find, itemsOf, placeOf } from "../model/document.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").State} State
 * @typedef {import("../geometry/labelplaces.js").Taken} Taken
 * @typedef {import("../geometry/labelplaces.js").Label} Label
 */

/** What is placed first has the best place. @type {Record<string, number>} */
const RANK = { port: 0, branch: 1, channel: 2, cutout: 3, pocket: 3, hole: 3, "keep-out": 4, obstacle: 4, opening: 5 };
const LATE = { tube: 5, drop: 5, device: 6, board: 7, "survey-point": 8 };

/** A line of words on the drawing, px. @param {string} words @param {boolean} bold @returns {Point} */
const sizeOf = (words, bold) => [words.length * (bold ? 7.4 : 6.2) + 4, 14];

/** What labels and signs keep clear of: ports and holes before all, then channels. @param {State} state @param {Map<string, Point>} roots @returns {Taken[]} */
export function takenBy({ document, view, layers }, roots) {
  /** @type {Taken[]} */
  const taken = [];
  for (const kind of /** @type {const} */ (["port", "hole", "branch"])) {
    if (layers[LAYER_OF[kind]] === "hidden") continue;
    for (const item of itemsOf(document, kind)) {
      taken.push({ box: boxOf(view, kind, /** @type {import("../types.js").Item} */ (item), roots), weight: kind === "hole" ? 0.6 : 1 });
    }
  }
  if (layers.channels === "hidden") return taken;
  for (const channel of itemsOf(document, "channel")) {
    const item = /** @type {import("../types.js").Item} */ (channel);
    const corners = cornersOf(document, item, roots).map((p) => toScreen(view, p));
    const half = ((item.width_mm ?? 0) * view.scale) / 2;
    for (let i = 0; i + 1 < corners.length; i += 1) {
      const [a, b] = [corners[i], corners[i + 1]];
      taken.push({
        box: [
          Math.min(a[0], b[0]) - half,
          Math.min(a[1], b[1]) - half,
          Math.max(a[0], b[0]) + half,
          Math.max(a[1], b[1]) + half,
        ],
        // A slanted leg's box is mostly empty.
        weight: Math.abs(a[0] - b[0]) > 4 * half && Math.abs(a[1] - b[1]) > 4 * half ? 0.03 : 0.2,
      });
    }
  }
  return taken;
}

/** What is seen of a port, a hole or a branch, px. @param {import("../types.js").View} view @param {import("../types.js").Kind} kind @param {import("../types.js").Item} item @param {Map<string, Point>} roots @returns {import("../types.js").Box} */
function boxOf(view, kind, item, roots) {
  const at = placeOf(item);
  const root = roots.get(item.id);
  if (kind === "port" && item.face === "edge" && root) return edgeBox(view, item, at, root);
  const r = roughRadius(kind, item) * view.scale * (kind === "hole" ? 1 : 0.72);
  return boxAbout(toScreen(view, at), [2 * r, 2 * r]);
}

/** An edge port with its fitting, which stands outside the plate and is about as long as it is wide, and its thread. @param {import("../types.js").View} view @param {import("../types.js").Item} item @param {Point} at @param {Point} root where channels reach it, mm @returns {import("../types.js").Box} */
function edgeBox(view, item, at, root) {
  const half = roughRadius("port", item);
  const far = Math.hypot(root[0] - at[0], root[1] - at[1]) || 1;
  const [hx, hy] = [(root[0] - at[0]) / far, (root[1] - at[1]) / far];
  const deep = item.thread_depth_mm ?? DEFAULTS.Port.thread_depth_mm;
  const corners = [-2 * half, deep].flatMap((way) =>
    [-half, half].map((side) => toScreen(view, [at[0] + way * hx - side * hy, at[1] + way * hy + side * hx])),
  );
  const [xs, ys] = [corners.map(([x]) => x), corners.map(([, y]) => y)];
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

/** @typedef {{finding: import("../types.js").Finding, index: number}} Found */
/** @typedef {Found & {members: Found[], place: Point, offset: Point}} Sign */
/** What the signs were last placed for, and where: the pointer's every move asks. @type {{of: unknown[], made: Sign[]}} */
let placed = { of: [], made: [] };

/** Signs on the plan, one for findings that lie close together; and how far off its place each stands, px. @param {State} state @param {Map<string, Point>} roots @returns {Sign[]} */
export function signs(state, roots) {
  if (state.layers.findings === "hidden") return [];
  const of = [state.answer, state.view, state.step, state.finding, state.layers, state.document, roots];
  if (of.some((part, i) => part !== placed.of[i])) placed = { of, made: signsPlaced(state, roots) };
  return placed.made;
}

/** @param {State} state @param {Map<string, Point>} roots @returns {Sign[]} */
function signsPlaced(state, roots) {
  const order = { error: 0, warning: 1, note: 2 };
  const found = (state.answer?.findings ?? [])
    .filter((f) => f.at && !f.accepted)
    .map((finding, index) => ({ finding, index }))
    .filter(({ finding }) => finding.level !== "note" || state.step === "check" || finding === state.finding)
    .sort((a, b) => order[a.finding.level] - order[b.finding.level]);
  const all = found.map(({ finding }) => toScreen(state.view, /** @type {Point} */ (finding.at)));
  const together = clusters(all);
  const places = together.map(([first]) => all[first]);
  const offsets = signOffsets(places, takenBy(state, roots), together.map((members) => members.length > 1));
  return together.map((members, i) => ({ ...found[members[0]], members: members.map((m) => found[m]), place: places[i], offset: offsets[i] }));
}

/** @param {{store: import("../types.js").Store, stage: import("../types.js").Stage, svg: SVGSVGElement}} parts */
export function createLabels({ store, stage, svg }) {
  let waiting = 0;

  function draw() {
    const now = store.get();
    svg.dataset.labels = "placed";
    if (!now.document) return;
    // While something is dragged the server's drawings come in too, each with its labels where it has them.
    const state = { ...now, document: now.draft ?? now.document };
    const texts = /** @type {NodeListOf<SVGTextElement>} */ (
      svg.querySelectorAll("#world g.item > text:is(.tag, .name, .value)")
    );
    const labels = [...texts].flatMap((text, i) => labelOf(state, text, String(i), stage.roots));
    const taken = takenBy(state, stage.roots);
    for (const { place, offset, members } of signs(state, stage.roots)) {
      const [x, y] = [place[0] + offset[0], place[1] + offset[1]];
      // The number of its findings stands at its upper right.
      taken.push({ box: [x - 11, y - (members.length > 1 ? 16 : 11), x + (members.length > 1 ? 17 : 11), y + 11], weight: 1 });
    }
    let places = placeLabels(labels, taken);
    // What is selected has its label in any case, before all others if it must be.
    const lost = labels.filter(({ key }) => !places.get(key) && chosen(state, texts[Number(key)]));
    if (lost.length) places = placeLabels(labels.map((one) => (lost.includes(one) ? { ...one, rank: -1, keep: true } : one)), taken);
    const unit = 1 / state.view.scale;
    texts.forEach((text, i) => {
      const place = places.get(String(i));
      if (place === undefined) return;
      text.classList.toggle("no-room", place === null);
      if (!place) return;
      const [w] = sizeOf(text.textContent ?? "", text.classList.contains("tag"));
      const [ax, ay] = toScreen(state.view, anchorOf(text));
      // Words in the middle count from there, others from the left end of their base line.
      const [dx, dy] = text.classList.contains("middle")
        ? [place[0] - ax, place[1] - ay]
        : [place[0] - w / 2 + 2 - ax, place[1] + 4 - ay];
      text.style.translate = `${dx * unit}px ${-dy * unit}px`;
    });
  }

  /** When a hand moves the view, labels follow as they are; they settle when it rests. */
  function later() {
    clearTimeout(waiting);
    // For those who watch the page from outside.
    svg.dataset.labels = "waiting";
    waiting = window.setTimeout(() => requestAnimationFrame(draw), 60);
  }

  /** @type {unknown} */
  let drawing = null;
  store.watch(["answer"], ({ answer }) => {
    if (drawing === answer?.drawing) return;
    drawing = answer?.drawing;
    // The server's labels are where the server has them: they are not seen so.
    draw();
  });
  store.watch(["view", "size", "layers", "answer", "step", "document", "selection"], later);
  return { draw };
}

/** Whether a label is of something that is selected. @param {State} state @param {SVGTextElement} text */
const chosen = ({ selection }, text) => selection.includes(/** @type {SVGElement|null} */ (text.closest("g.item"))?.dataset.id ?? "");

/** Where a text stands by the server's drawing, mm. @param {SVGTextElement} text @returns {Point} */
function anchorOf(text) {
  const [x, y] = (text.getAttribute("transform") ?? "").match(/-?[\d.]+(?:e-?\d+)?/g)?.map(Number) ?? [0, 0];
  return [x, y];
}

/** @param {State} state @param {SVGTextElement} text @param {string} key @param {Map<string, Point>} roots @returns {Label[]} */
function labelOf({ document, view, layers }, text, key, roots) {
  const group = /** @type {SVGElement|null} */ (text.closest("g.item"));
  if (!group) return [];
  const { id = "", kind = "" } = group.dataset;
  const layer = group.closest("g.layer")?.getAttribute("data-layer") ?? "";
  if (layers[layer] === "hidden") return [];
  const bold = text.classList.contains("tag");
  const size = sizeOf(text.textContent ?? "", bold);
  const at = toScreen(view, anchorOf(text));
  const item = find(document, id);
  const rank = RANK[kind] ?? LATE[/** @type {keyof typeof LATE} */ (kind)] ?? 9;
  if (kind === "dimension") return [{ key, size, rank: 1, places: alongLine(view, group, at), keep: true }];
  if (kind === "drop" || kind === "tube") return [{ key, size, rank, places: about(at, size) }];
  if (item && kind === "port" && item.item.face === "edge" && roots.has(id)) return [{ key, size, rank, places: beside(boxOf(view, kind, item.item, roots), size) }];
  if (item && kind === "channel") {
    const corners = cornersOf(document, item.item, roots).map((p) => toScreen(view, p));
    const beds = alongCourse(corners, ((item.item.width_mm ?? 0) * view.scale) / 2, size);
    return [{ key, size, rank, places: beds.length ? beds : about(at, size) }];
  }
  if (item && (kind === "port" || kind === "hole" || kind === "branch")) {
    const radius = roughRadius(kind, item.item) * view.scale;
    return [{ key, size, rank, places: around(toScreen(view, placeOf(item.item)), Math.max(radius * 0.8, 4), size) }];
  }
  if (kind === "survey-point") return [{ key, size, rank, places: around([at[0] - 2, at[1] + 2], 4, size) }];
  if (bold) return [{ key, size, rank, places: about(at, size) }];
  return [{ key, size, rank, places: nameplates(group, at, size) }];
}

/** A value stays on its dimension line, or right beside it, or nobody knows what it is of. @param {import("../types.js").View} view @param {SVGElement} group @param {Point} at its middle, px @returns {Point[]} */
function alongLine(view, group, at) {
  const line = group.querySelector("line.dimension-line");
  if (!line) return [at];
  const value = (/** @type {string} */ name) => Number(line.getAttribute(name));
  const [a, b] = [toScreen(view, [value("x1"), value("y1")]), toScreen(view, [value("x2"), value("y2")])];
  const size = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
  const [nx, ny] = [-(b[1] - a[1]) / size, (b[0] - a[0]) / size];
  return [0, -11, 11].flatMap((off) =>
    [0.5, 0.35, 0.65, 0.2, 0.8].map(
      (share) => /** @type {Point} */ ([a[0] + share * (b[0] - a[0]) + off * nx, a[1] + share * (b[1] - a[1]) + off * ny]),
    ),
  );
}

/** Along the upper and the lower edge of a body, inside and outside. @param {SVGElement} group @param {Point} at its upper left corner, px @param {Point} size @returns {Point[]} */
function nameplates(group, [x, y], [w, h]) {
  const shape = group.querySelector("path");
  const box = shape?.getBoundingClientRect();
  const [wide, deep] = box ? [box.width, box.height] : [w, h];
  const [left, right] = [x + w / 2 + 4, x + wide - w / 2 - 4];
  const [above, inside, low, below] = [y - h / 2 - 1, y + h / 2 + 2, y + deep - h / 2 - 2, y + deep + h / 2 + 1];
  const middle = x + wide / 2;
  /** @type {Point[]} */
  const liked = [
    [left, inside],
    [left, above],
    [middle, inside],
    [right, inside],
    [right, above],
    [left, low],
    [middle, low],
    [right, low],
    [left, below],
    [right, below],
    [middle, y + deep / 2],
  ];
  // Then anywhere along its edges, and in rows across it.
  const rows = [inside, low, above, below, y + deep / 3, y + (2 * deep) / 3];
  const columns = [0.2, 0.35, 0.65, 0.8].map((share) => x + share * wide).filter((at) => at >= left && at <= right);
  return [...liked, ...rows.flatMap((row) => columns.map((at) => /** @type {Point} */ ([at, row])))];
}
