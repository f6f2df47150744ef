/** The plan's ids and names moved to where they can be read, at the size that they have on the screen. */

import { LAYER_OF, roughRadius } from "../geometry/hits.js";
import { about, around, boxAbout, clusters, placeLabels, signOffsets } from "../geometry/labels.js";
import { toScreen } from "../geometry/view.js";
import { cornersOf, find, itemsOf, placeOf } from "../model/document.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").State} State
 * @typedef {import("../geometry/labels.js").Taken} Taken
 * @typedef {import("../geometry/labels.js").Label} Label
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
      const r = roughRadius(kind, /** @type {import("../types.js").Item} */ (item)) * view.scale * (kind === "port" ? 0.72 : 1);
      taken.push({ box: boxAbout(toScreen(view, placeOf(item)), [2 * r, 2 * r]), weight: kind === "hole" ? 0.6 : 1 });
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

/** Signs on the plan, the worst first, one for findings that lie close together; and how far off its place each stands, px. @param {State} state @param {Map<string, Point>} roots */
export function signs(state, roots) {
  if (state.layers.findings === "hidden") return [];
  const order = { error: 0, warning: 1, note: 2 };
  const found = (state.answer?.findings ?? [])
    .filter((f) => f.at && !f.accepted)
    .map((finding, index) => ({ finding, index }))
    .filter(({ finding }) => finding.level !== "note" || state.step === "check" || finding === state.finding)
    .sort((a, b) => order[a.finding.level] - order[b.finding.level]);
  const all = found.map(({ finding }) => toScreen(state.view, /** @type {Point} */ (finding.at)));
  const together = clusters(all);
  const places = together.map(([first]) => all[first]);
  const offsets = signOffsets(places, takenBy(state, roots));
  return together.map((members, i) => ({ ...found[members[0]], members: members.map((m) => found[m]), place: places[i], offset: offsets[i] }));
}

/** @param {{store: import("../types.js").Store, stage: import("../types.js").Stage, svg: SVGSVGElement}} parts */
export function createLabels({ store, stage, svg }) {
  let waiting = 0;

  function draw() {
    const now = store.get();
    if (!now.document) return;
    // While something is dragged the server's drawings come in too, each with its labels where it has them.
    const state = { ...now, document: now.draft ?? now.document };
    const texts = /** @type {NodeListOf<SVGTextElement>} */ (
      svg.querySelectorAll("#world g.item > text:is(.tag, .name, .value)")
    );
    const labels = [...texts].flatMap((text, i) => labelOf(state, text, String(i)));
    const taken = takenBy(state, stage.roots);
    for (const { place, offset } of signs(state, stage.roots))
      taken.push({ box: boxAbout([place[0] + offset[0], place[1] + offset[1]], [22, 22]), weight: 1 });
    const places = placeLabels(labels, taken);
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
    waiting = window.setTimeout(() => requestAnimationFrame(draw), 60);
  }

  store.watch(["view", "size", "layers", "answer", "step", "document"], later);
  return { draw };
}

/** Where a text stands by the server's drawing, mm. @param {SVGTextElement} text @returns {Point} */
function anchorOf(text) {
  const [x, y] = (text.getAttribute("transform") ?? "").match(/-?[\d.]+(?:e-?\d+)?/g)?.map(Number) ?? [0, 0];
  return [x, y];
}

/** @param {State} state @param {SVGTextElement} text @param {string} key @returns {Label[]} */
function labelOf({ document, view, layers }, text, key) {
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
  if (item && (kind === "port" || kind === "hole" || kind === "branch")) {
    const radius = roughRadius(kind, item.item) * view.scale;
    return [{ key, size, rank, places: around(toScreen(view, placeOf(item.item)), Math.max(radius * 0.8, 4), size), keep: kind === "port" }];
  }
  if (kind === "survey-point") return [{ key, size, rank, places: around([at[0] - 2, at[1] + 2], 4, size) }];
  if (bold) return [{ key, size, rank, places: about(at, size), keep: kind === "channel" }];
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
  return [
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
}
