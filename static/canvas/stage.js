/**
 * The drawing on the page: takes in the server's plan, keeps it under the view, and lets it follow the document in the
 * same frame. It reads the state and draws; what the pointer does is in `pointer.js`.
 */

import { s } from "../dom.js";
import { changesBetween } from "../geometry/follow.js";
import { stepFor, transformOf } from "../geometry/view.js";
import { DEFAULTS } from "../format.js";
import { find } from "../model/document.js";
import { bodiesAt } from "./bodies.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/**
 * A drawing as the server made it.
 * @typedef {{document: PlateDocument, elements: Map<string, SVGGElement[]>, roots: Map<string, Point>, ends: import("../geometry/follow.js").Ends,
 *   originals: Map<Element, {d: string, width: string}>, touched: Set<Element>, bands: Map<string, SVGGElement[]>}} Drawing
 *   roots: where channels reach ports; originals: paths as they were before they followed; touched: groups that differ
 *   now; bands: the room that the seal needs around each item
 */

/** Parts of the drawing that are not in every answer: without a new one the old one stays. */
const KEPT_LAYERS = ["seal", "survey", "flow"];

/** @param {{store: import("../types.js").Store, svg: SVGSVGElement}} parts */
export function createStage({ store, svg }) {
  const layers = createGround(svg);
  const { world } = layers;
  const added = s("g.stand-ins");
  let drawing = /** @type {Drawing|null} */ (null);
  let roots = /** @type {Map<string, Point>} */ (new Map());

  /** Takes in a drawing of a document. Layers it was not asked for stay as they were. @param {string} text @param {PlateDocument} document @param {string[]} want */
  function adopt(text, document, want) {
    const root = planIn(text);
    if (!root) return;
    replacePlan(world, root, want);
    root.append(added);
    drawing = drawingOf(root, document);
    dim();
    mark();
    follow();
  }

  /** Brings the drawing up to the document as it is now, frame by frame. */
  function follow() {
    if (!drawing) return;
    const now = store.get().draft ?? store.get().document;
    const changes = changesBetween(drawing.document, now, drawing.roots, drawing.ends);
    roots = changes.roots;
    show(drawing, changes, now);
    added.replaceChildren(...[...changes.added].flatMap(([id, d]) => standIn(world, id, d, find(now, id))));
  }

  const dim = () => showLayers(layers, store.get().layers);
  const mark = () => markSelected(drawing, store.get());

  store.watch(["draft", "document"], follow);
  store.watch(["view", "size", "unit"], () => layers.place(store.get()));
  store.watch(["layers"], dim);
  store.watch(["selection", "hover"], mark);
  store.watch(["heights"], (now) => svg.classList.toggle("with-heights", now.heights));

  return {
    adopt,
    photo: layers.photo,
    /** The middle of a board or a device as it is drawn, mm; of anything else null. @param {string} id */
    middleOf: (id) => (drawing ? middleOf(drawing, store.get().document, id) : null),
    /** The boxes around boards and devices as they are drawn, around tubes too if asked, mm: left, front, right, rear. */
    extents: (tubes = false) => extentsOf(world, `.item > .hardware${tubes ? ", .item[data-kind=tube] > .tube" : ""}`),
    /** The ends of the tubes as they are drawn, by the id that selects each. @returns {import("../geometry/follow.js").Ends} */
    get ends() { return drawing?.ends ?? new Map(); },
    /** How far the room of the seal reaches beyond the coolant, mm: screws, groove. */
    room: () => beyonds(world),
    /** Boards and devices whose line is near a place, the nearest first. @param {Point} point mm @param {number} reach mm */
    bodiesAt: (point, reach) => bodiesAt(world, point, reach),
    /** The document that the drawing was made of, and where channels reach its ports. */
    shown: () => drawing && { document: drawing.document, roots: drawing.roots },
    /** Where channels reach ports, as the drawing has it now. */
    get roots() { return roots; },
  };
}

/** Signs what is selected, of a group its members, and what is under the pointer. @param {Drawing|null} drawing @param {import("../types.js").State} state */
function markSelected(drawing, { selection, hover, document }) {
  const members = (document?.groups ?? []).filter((one) => selection.includes(one.id)).flatMap((one) => one.members ?? []);
  for (const [id, groups] of drawing?.elements ?? []) {
    for (const group of groups) {
      group.classList.toggle("selected", selection.includes(id) || members.includes(id));
      group.classList.toggle("hovered", hover === id);
    }
  }
}

/** @param {Drawing} drawing @param {PlateDocument} document the newest, which the drawing may not show yet @param {string} id @returns {Point|null} */
function middleOf(drawing, document, id) {
  const body = drawing.elements.get(id)?.find((group) => group.querySelector(".hardware"));
  const [was, is] = [find(drawing.document, id)?.item, find(document, id)?.item];
  const shape = /** @type {SVGGraphicsElement|null|undefined} */ (body?.querySelector(".hardware"));
  if (!shape || !was || !is) return null;
  const { x, y, width, height } = shape.getBBox();
  return [x + width / 2 + (is.x_mm ?? 0) - (was.x_mm ?? 0), y + height / 2 + (is.y_mm ?? 0) - (was.y_mm ?? 0)];
}

/** @param {SVGElement} world @param {string} parts a selector @returns {Map<string, import("../types.js").Box>} */
function extentsOf(world, parts) {
  const found = new Map();
  for (const shape of world.querySelectorAll(parts)) {
    const { x, y, width, height } = /** @type {SVGGraphicsElement} */ (shape).getBBox();
    const id = /** @type {SVGElement} */ (shape.parentElement ?? shape).dataset.id;
    const [left, front, right, rear] = found.get(id) ?? [x, y, x, y];
    if (id && width && height) found.set(id, [Math.min(x, left), Math.min(y, front), Math.max(x + width, right), Math.max(y + height, rear)]);
  }
  return found;
}

/** The plan in the text of a drawing. @param {string} text @returns {SVGGElement|null} */
function planIn(text) {
  const plan = new DOMParser().parseFromString(text, "image/svg+xml").querySelector("g.plan");
  return plan && /** @type {SVGGElement} */ (window.document.importNode(plan, true));
}

/** @param {{world: SVGElement, photo: SVGElement}} drawn @param {import("../types.js").State["layers"]} states */
function showLayers({ world, photo }, states) {
  for (const layer of /** @type {NodeListOf<SVGElement>} */ (world.querySelectorAll("g.layer")))
    setState(layer, states[layerOf(layer.dataset.layer ?? "")]);
  setState(photo, states.photo);
}

/** @param {Element} layer @param {import("../types.js").LayerState|undefined} state */
function setState(layer, state) {
  layer.classList.toggle("hidden", state === "hidden");
  layer.classList.toggle("dimmed", state === "dimmed");
}

/** What lies under the view: photo, grid, the world in mm, hatches. @param {SVGSVGElement} svg */
function createGround(svg) {
  const photo = s("g", { id: "photo-layer" });
  const line = s("path.grid-line");
  const grid = s("pattern", { id: "square-grid", patternUnits: "userSpaceOnUse" }, line);
  const paper = s("rect.grid", { x: 0, y: 0, width: "100%", height: "100%", fill: "url(#square-grid)" });
  // What the drawing shows stands in the list of items too, in words.
  const world = s("g", { id: "world", "aria-hidden": "true" });
  const hatches = [
    hatch("hatch-dry", ["M0 8L8 0", "M-1 1L1 -1", "M7 9L9 7"]),
    hatch("hatch-forbidden", ["M0 8L8 0", "M0 0L8 8"]),
  ];
  svg.prepend(s("defs", {}, hatches, grid), photo, paper, world);
  return {
    world,
    photo,
    /** Under the view as it is. @param {import("../types.js").State} state */
    place({ view, document, unit }) {
      world.setAttribute("transform", transformOf(view));
      photo.setAttribute("transform", `${transformOf(view)} scale(1 -1)`);
      svg.style.setProperty("--u", String(1 / view.scale));
      for (const pattern of hatches) pattern.setAttribute("patternTransform", `scale(${1 / view.scale})`);
      const px = gridStep(view.scale, document?.grid?.pitch_mm, unit) * view.scale;
      const [x, y] = [
        view.x + (document?.grid?.x_mm ?? 0) * view.scale,
        view.y - (document?.grid?.y_mm ?? 0) * view.scale,
      ];
      for (const [key, value] of Object.entries({ width: px, height: px, x: x % px, y: y % px }))
        grid.setAttribute(key, String(value));
      line.setAttribute("d", `M0 0H${px}M0 0V${px}`);
    },
  };
}

/** Lines of the grid nearer than this only make it grey, px. */
const CLOSEST_LINES = 14;

/** A step of the grid that is drawn, mm: the pitch, or so many times the pitch that the lines stand apart. @param {number} scale @param {number|undefined} given @param {import("../types.js").Unit} unit */
function gridStep(scale, given, unit) {
  if (unit === "in" && !given) return stepFor(scale, CLOSEST_LINES, "in");
  const pitch = given ?? DEFAULTS.Grid.pitch_mm;
  const times = [1, 2, 5, 10, 20, 50, 100].find((n) => pitch * n * scale >= CLOSEST_LINES) ?? 200;
  return pitch * times;
}

/** The new plan takes the old one's place, with those of its layers that it does not bring. @param {SVGElement} world @param {SVGElement} root @param {string[]} want what was asked for */
function replacePlan(world, root, want) {
  for (const name of KEPT_LAYERS.filter((layer) => !want.includes(layer))) {
    const [old, next] = [world, root].map((part) => part.querySelector(`g.layer[data-layer="${name}"]`));
    if (old && next) next.replaceWith(old);
  }
  world.replaceChildren(root);
}

/** The items of a plan by their ids, each with its id as a title. @param {SVGGElement} root @param {PlateDocument} document @returns {Drawing} */
function drawingOf(root, document) {
  /** @type {Drawing} */
  const made = {
    document,
    elements: new Map(),
    roots: new Map(),
    ends: new Map(),
    originals: new Map(),
    touched: new Set(),
    bands: new Map(),
  };
  for (const band of /** @type {NodeListOf<SVGGElement>} */ (root.querySelectorAll("g.room-of"))) {
    const id = band.dataset.around ?? "";
    made.bands.set(id, [...(made.bands.get(id) ?? []), band]);
  }
  for (const group of /** @type {NodeListOf<SVGGElement>} */ (root.querySelectorAll("g.item[data-id]"))) {
    const id = group.dataset.id ?? "";
    const same = made.elements.get(id);
    if (same) same.push(group);
    else {
      made.elements.set(id, [group]);
      group.append(s("title", {}, id));
    }
    const [x, y] = (group.dataset.root ?? "").split(" ").map(Number);
    if (group.dataset.root) made.roots.set(id, [x, y]);
    const ends = (group.dataset.ends ?? "").split(" ").map(Number);
    if (ends.length === 6) made.ends.set(id, [[ends[0], ends[1], ends[2]], [ends[3], ends[4], ends[5]]]);
  }
  return made;
}

/** @param {Drawing} drawing @param {import("../geometry/follow.js").Changes} changes @param {PlateDocument} now */
function show(drawing, changes, now) {
  const before = drawing.touched;
  const touched = new Set();
  /** A tube follows by its corners, whatever else of the same id does. @param {string} id @param {(group: SVGGElement) => void} act @param {boolean} [tube] */
  const each = (id, act, tube = false) => {
    for (const group of [...(drawing.elements.get(id) ?? []), ...(drawing.bands.get(id) ?? [])]) {
      if (act !== vanish && tube !== ("ends" in group.dataset)) continue;
      act(group);
      touched.add(group);
    }
  };
  for (const [id, [dx, dy]] of changes.moved)
    each(id, (group) => {
      group.setAttribute("transform", `translate(${dx} ${dy})`);
      group.classList.remove("being-turned");
    });
  for (const [id, { about: [x, y], deg, by: [dx, dy] }] of changes.turned)
    each(id, (group) => {
      group.setAttribute("transform", `translate(${dx} ${dy}) rotate(${deg} ${x} ${y})`);
      group.classList.add("being-turned");
    });
  for (const [id, data] of changes.tubes) each(id, (group) => reroute(drawing, group, data, ""), true);
  for (const [id, data] of changes.courses) {
    const width = String(find(now, id)?.item.width_mm);
    each(id, (group) => reroute(drawing, group, data, width));
  }
  for (const [id, data] of changes.shapes) each(id, (group) => reshape(group, data));
  for (const id of changes.gone) each(id, vanish);
  for (const group of before) if (!touched.has(group)) restore(drawing, group);
  drawing.touched = touched;
}

const LINES = ".bed, .centreline, .tube-line, .room-band";

/** The room of the seal is shown with the seal. @param {string} name */
const layerOf = (name) => (name === "room" ? "seal" : name);

/** @param {SVGElement} world @returns {number[]} */
const beyonds = (world) =>
  [.../** @type {NodeListOf<SVGElement>} */ (world.querySelectorAll("g.room[data-beyond]"))].map((room) => Number(room.dataset.beyond));

/** What is new, until the server draws it: its line, and the room that a channel needs for the seal. @param {SVGElement} world @param {string} id @param {string} d @param {ReturnType<typeof find>} found */
function standIn(world, id, d, found) {
  const width = found?.item.width_mm ?? 0;
  const rooms = found?.kind === "channel" ? beyonds(world) : [];
  return [
    ...rooms.map((beyond) => s("g.room", {}, s("path.room-band", { d, "stroke-width": width + 2 * beyond }))),
    s("path.stand-in", { d, dataset: { id } }),
  ];
}

/** @param {SVGGElement} group */
const vanish = (group) => group.classList.add("gone");

/** @param {Drawing} drawing @param {SVGGElement} group @param {string} data @param {string} width */
function reroute(drawing, group, data, width) {
  group.classList.add("on-the-move");
  for (const path of group.querySelectorAll(LINES)) {
    if (!drawing.originals.has(path))
      drawing.originals.set(path, { d: path.getAttribute("d") ?? "", width: path.getAttribute("stroke-width") ?? "" });
    path.setAttribute("d", data);
    const beyond = Number(path.closest(".room")?.getAttribute("data-beyond") ?? 0);
    if (path.matches(".bed, .room-band")) path.setAttribute("stroke-width", String(Number(width) + 2 * beyond));
  }
}

/** The shapes of a group whose outline is drawn by hand. */
const OUTLINES = ".area, .plate-outline, .floor-outline";

/** A new outline stands in for the drawn one, in its colours. @param {SVGGElement} group @param {string} data */
function reshape(group, data) {
  const drawn = group.querySelector(`:is(${OUTLINES}):not(.reshaped)`);
  if (!drawn) return;
  let shape = group.querySelector(".reshaped");
  if (!shape) {
    shape = s("path", { class: `${drawn.getAttribute("class")} reshaped` });
    drawn.before(shape);
    group.classList.add("being-shaped");
    group.removeAttribute("transform");
  }
  shape.setAttribute("d", data);
}

/** @param {Drawing} drawing @param {Element} group */
function restore(drawing, group) {
  group.classList.remove("being-shaped");
  group.querySelector(".reshaped")?.remove();
  group.removeAttribute("transform");
  group.classList.remove("gone", "on-the-move", "being-turned");
  for (const path of group.querySelectorAll(LINES)) {
    const was = drawing.originals.get(path);
    if (!was) continue;
    path.setAttribute("d", was.d);
    if (was.width) path.setAttribute("stroke-width", was.width);
  }
}

/** @param {string} id @param {string[]} strokes */
const hatch = (id, strokes) =>
  s(
    "pattern",
    { id, patternUnits: "userSpaceOnUse", width: 8, height: 8 },
    strokes.map((d) => s(`path.${id}-line`, { d })),
  );
