/** The plan's ids and names moved to where they can be read, at the size that they have on the screen. */

import { roughRadius } from "../geometry/hits.js";
import { about, alongCourse, around, beside, clusters, placeLabels, signOffsets } from "../geometry/labelplaces.js";
import { toScreen } from "../geometry/view.js";
import { cornersOf, find, outlineCorners, placeOf } from "../model/document.js";
import { lineOfBody } from "./bodies.js";
import { boxOf, linesOf, outOfSight, takenBy } from "./labelroom.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").State} State
 * @typedef {import("../geometry/labelplaces.js").Label} Label
 */

/** What is placed first has the best place. @type {Record<string, number>} */
const RANK = { port: 0, branch: 1, channel: 2, cutout: 3, pocket: 3, hole: 3, "keep-out": 4, obstacle: 4, opening: 5 };
const LATE = { tube: 5, drop: 5, device: 6, board: 7, "survey-point": 8 };

/** On a drawing as narrow as this, px, what is of another step is named only when it is selected or pointed at. */
const NARROW = 420;
/** @type {Record<string, string[]>} steps on which each is named there all the same */
const NAMED_ON = { hole: ["hand-off"], "survey-point": ["measure"], obstacle: ["measure"], opening: ["measure"], board: ["lay-out"] };

/** Whether a label waits until it is asked for. @param {State} state @param {SVGTextElement} text */
function waits({ size, step, view }, text) {
  const { kind = "" } = /** @type {SVGElement|null} */ (text.closest("g.item"))?.dataset ?? {};
  // Drawn large there is room.
  return size[0] < NARROW && view.scale < 2 && NAMED_ON[kind] !== undefined && !NAMED_ON[kind].includes(step);
}

/** A line of words on the drawing, px; an id that is selected is written larger. @param {SVGTextElement} text @returns {Point} */
function sizeOf(text) {
  const bold = text.classList.contains("tag");
  const larger = bold && text.parentElement?.classList.contains("selected");
  return [(text.textContent ?? "").length * (larger ? 8.6 : bold ? 7.4 : 6.2) + 4, larger ? 16 : 14];
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
  /** The place of each label among those that it may have, -1 for one without room: while something is dragged it keeps it. @type {Map<string, number>} */
  let stood = new Map();

  function draw() {
    const now = store.get();
    svg.dataset.labels = "placed";
    const shown = stage.shown();
    if (!now.document || !shown) return;
    // Labels belong to the drawing as it came: what has moved since takes its label with it.
    const state = { ...now, document: shown.document };
    const texts = [
      .../** @type {NodeListOf<SVGTextElement>} */ (svg.querySelectorAll("#world g.item > text:is(.tag, .name, .value)")),
    ];
    const names = texts.map(nameOf);
    const before = now.draft ? stood : new Map();
    const labels = texts.flatMap((text, i) => {
      const made = labelOf(state, text, String(i), shown.roots);
      return made && made.places.length ? [{ ...made, liked: waits(now, text) ? -1 : before.get(names[i]) }] : [];
    });
    const taken = [...takenBy(state, shown.roots), ...linesOf(state, svg), ...outOfSight(now.size), ...signs(now, stage.roots).map(roomOfSign)];
    const places = placedWith(labels, taken, (key) => asked(now, texts[Number(key)]));
    stood = new Map(labels.map(({ key, places: all }) => [names[Number(key)], all.indexOf(places.get(key) ?? [0, 0])]));
    for (const [key, place] of places) put(texts[Number(key)], place, state.view);
  }

  /** What is only pointed at moves no label but its own. @param {State} state */
  function pointedAt({ hover }) {
    const left = hover ? svg.querySelector(`#world g.item[data-id="${CSS.escape(hover)}"] > text.no-room`) : null;
    if (left || svg.dataset.pointed === "yes") later();
    svg.dataset.pointed = left ? "yes" : "";
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
  store.watch(["hover"], pointedAt);
  return { draw };
}

/** The number of a sign's findings stands at its upper right. @param {Sign} sign @returns {import("../geometry/labelplaces.js").Taken} */
function roomOfSign({ place, offset, members }) {
  const [x, y] = [place[0] + offset[0], place[1] + offset[1]];
  const several = members.length > 1;
  return { box: [x - 11, y - (several ? 16 : 11), x + (several ? 17 : 11), y + 11], weight: 1 };
}

/** @param {SVGTextElement} text @param {Point|null} place px, of its middle @param {import("../types.js").View} view */
function put(text, place, view) {
  text.classList.toggle("no-room", place === null);
  if (!place) return;
  const [w] = sizeOf(text);
  const [ax, ay] = toScreen(view, anchorOf(text));
  // Words in the middle count from there, others from the left end of their base line.
  const [dx, dy] = text.classList.contains("middle")
    ? [place[0] - ax, place[1] - ay]
    : [place[0] - w / 2 + 2 - ax, place[1] + 4 - ay];
  text.style.translate = `${dx / view.scale}px ${-dy / view.scale}px`;
}

/** All places; what is selected or pointed at has its label in any case, before all others if it must be. @param {Label[]} labels @param {import("../geometry/labelplaces.js").Taken[]} taken @param {(key: string) => boolean} wanted */
function placedWith(labels, taken, wanted) {
  const places = placeLabels(labels, taken);
  const lost = new Set(labels.map(({ key }) => key).filter((key) => !places.get(key) && wanted(key)));
  if (!lost.size) return places;
  return placeLabels(labels.map((one) => (lost.has(one.key) ? { ...one, rank: -1, keep: true, liked: undefined } : one)), taken);
}

/** The item that a label is of. @param {SVGTextElement} text */
const ownerOf = (text) => /** @type {SVGElement|null} */ (text.closest("g.item"))?.dataset.id ?? "";

/** What a label is called from one drawing to the next. @param {SVGTextElement} text */
const nameOf = (text) => `${ownerOf(text)} ${text.getAttribute("class")?.replace(/ ?no-room/, "")}`;

/** Whether a label is of something that is selected, or pointed at. @param {State} state @param {SVGTextElement} text */
const asked = ({ selection, hover }, text) => selection.includes(ownerOf(text)) || hover === ownerOf(text);

/** Where a text stands by the server's drawing, mm. @param {SVGTextElement} text @returns {Point} */
function anchorOf(text) {
  const [x, y] = (text.getAttribute("transform") ?? "").match(/-?[\d.]+(?:e-?\d+)?/g)?.map(Number) ?? [0, 0];
  return [x, y];
}

/** @param {State} state @param {SVGTextElement} text @param {string} key @param {Map<string, Point>} roots @returns {Label|null} */
function labelOf(state, text, key, roots) {
  const group = /** @type {SVGElement|null} */ (text.closest("g.item"));
  const layer = group?.closest("g.layer")?.getAttribute("data-layer") ?? "";
  if (!group || state.layers[layer] === "hidden") return null;
  const { kind = "" } = group.dataset;
  const size = sizeOf(text);
  if (kind === "dimension") return { key, size, rank: 1, places: alongLine(state.view, group, toScreen(state.view, anchorOf(text))), keep: true, owner: group.dataset.id };
  const rank = RANK[kind] ?? LATE[/** @type {keyof typeof LATE} */ (kind)] ?? 9;
  return { key, size, rank, places: placesFor(state, group, text, size, roots) };
}

/** @param {State} state @param {SVGElement} group @param {SVGTextElement} text @param {Point} size @param {Map<string, Point>} roots @returns {Point[]} */
function placesFor({ document, view }, group, text, size, roots) {
  const { id = "", kind = "" } = group.dataset;
  const at = toScreen(view, anchorOf(text));
  const item = find(document, id)?.item;
  if (kind === "drop" || kind === "tube") return about(at, size);
  if (kind === "survey-point") return around([at[0] - 2, at[1] + 2], 4, size);
  if (item && kind === "port" && item.face === "edge" && roots.has(id)) return beside(boxOf(view, kind, item, roots), size);
  if (item && kind === "channel") {
    const corners = cornersOf(document, item, roots).map((p) => toScreen(view, p));
    const beds = alongCourse(corners, ((item.width_mm ?? 0) * view.scale) / 2, size);
    return beds.length ? beds : about(at, size);
  }
  if (item && (kind === "port" || kind === "hole" || kind === "branch")) {
    const radius = roughRadius(kind, item) * view.scale;
    // A hole is drawn to its edge; a port's ring leaves room at its corners.
    return around(toScreen(view, placeOf(item)), Math.max(kind === "hole" ? radius + 1 : radius * 0.8, 4), size);
  }
  if (!text.classList.contains("tag")) return nameplates(group, at, size, view.scale);
  const outline = kind === "device" ? null : item?.outline;
  return outline ? besideOutline(view, outline, at, size) : about(at, size);
}

/** In an outline's middle, in its corners, beside it. @param {import("../types.js").View} view @param {import("../types.js").Outline} outline @param {Point} at its middle, px @param {Point} size @returns {Point[]} */
function besideOutline(view, outline, at, size) {
  const corners = outlineCorners(outline).map((p) => toScreen(view, p));
  const [xs, ys] = [corners.map(([x]) => x), corners.map(([, y]) => y)];
  const [left, top, right, bottom] = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  const [w, h] = size;
  const roomy = right - left > w + 8 && bottom - top > h + 8;
  const within = [left + w / 2 + 3, right - w / 2 - 3].flatMap((x) =>
    [top + h / 2 + 3, bottom - h / 2 - 3].map((y) => /** @type {Point} */ ([x, y])),
  );
  const outside = beside([left - 1, top - 1, right + 1, bottom + 1], size);
  // In the middle of something smaller than the words stand only words that find no room beside it.
  return roomy ? [...about(at, size).slice(0, 5), ...within, ...outside, ...about(at, size).slice(5)] : [...outside, ...about(at, size)];
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

/** Along the upper and the lower edge of a body, inside and outside. @param {SVGElement} group @param {Point} at its upper left corner, px @param {Point} size @param {number} scale px to a mm @returns {Point[]} */
function nameplates(group, [x, y], [w, h], scale) {
  // Asked of the path itself: the browser's own box would make it lay out the whole page in the middle of a drag.
  const line = lineOfBody(group.querySelector("path"));
  const [xs, ys] = [line.map((p) => p[0]), line.map((p) => p[1])];
  const [wide, deep] = line.length ? [xs, ys].map((all) => (Math.max(...all) - Math.min(...all)) * scale) : [w, h];
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
  // A name longer than its body stands beside it.
  /** @type {Point[]} */
  const outside = [x - w / 2 - 3, x + wide + w / 2 + 3].flatMap((at) => [inside, y + deep / 2, low].map((row) => /** @type {Point} */ ([at, row])));
  if (wide < w + 8) return [...outside, [middle, above], [middle, below], ...liked];
  return [...liked, ...rows.flatMap((row) => columns.map((at) => /** @type {Point} */ ([at, row]))), ...outside];
}
