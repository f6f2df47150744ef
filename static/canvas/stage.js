/**
 * The drawing on the page: takes in the server's plan, keeps it under the view, and lets it follow the document in the
 * same frame. It reads the state and draws; what the pointer does is in `pointer.js`.
 */

import { s } from "../dom.js";
import { changesBetween } from "../geometry/follow.js";
import { fitted, stepFor, transformOf } from "../geometry/view.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/** @param {{store: any, svg: SVGSVGElement}} parts */
export function createStage({ store, svg }) {
  const photo = s("g", { id: "photo-layer" });
  const grid = s("rect.grid", { x: 0, y: 0, width: "100%", height: "100%", fill: "url(#square-grid)" });
  // What the drawing shows stands in the list of items too, in words.
  const world = s("g", { id: "world", "aria-hidden": "true" });
  const added = s("g.stand-ins");
  const defs = s(
    "defs",
    {},
    hatch("hatch-dry", ["M0 8L8 0", "M-1 1L1 -1", "M7 9L9 7"]),
    hatch("hatch-forbidden", ["M0 8L8 0", "M0 0L8 8"]),
    s("pattern", { id: "square-grid", patternUnits: "userSpaceOnUse" }, s("path.grid-line")),
  );
  svg.prepend(defs, photo, grid, world);

  /** @type {PlateDocument|null} */
  let drawn = null;
  /** @type {Map<string, SVGGElement[]>} */
  let elements = new Map();
  /** @type {Map<string, Point>} */
  let roots = new Map();
  /** @type {Map<string, Point>} */
  let rootsNow = roots;
  /** @type {Map<Element, [string, string]>} paths as the server drew them */
  let originals = new Map();
  /** @type {Set<Element>} */
  let touched = new Set();

  /** Takes in a drawing of a document. Layers it was not asked for stay as they were. @param {string} text @param {PlateDocument} document @param {string[]} want */
  function adopt(text, document, want) {
    const parsed = new DOMParser().parseFromString(text, "image/svg+xml");
    const plan = parsed.querySelector("g.plan");
    if (!plan) return;
    const root = /** @type {SVGGElement} */ (window.document.importNode(plan, true));
    for (const name of ["seal", "survey", "flow"]) {
      if (want.includes(name)) continue;
      const [old, next] = [world, root].map((part) => part.querySelector(`g.layer[data-layer="${name}"]`));
      if (old && next) next.replaceWith(old);
    }
    root.append(added);
    world.replaceChildren(root);
    drawn = document;
    elements = new Map();
    roots = new Map();
    originals = new Map();
    touched = new Set();
    for (const group of /** @type {NodeListOf<SVGGElement>} */ (root.querySelectorAll("g.item[data-id]"))) {
      const id = /** @type {string} */ (group.dataset.id);
      elements.set(id, [...(elements.get(id) ?? []), group]);
      if (group.dataset.root) roots.set(id, /** @type {Point} */ (group.dataset.root.split(" ").map(Number)));
    }
    rootsNow = roots;
    for (const [id, [first]] of elements) {
      const title = s("title", {}, id);
      first.append(title);
    }
    layers();
    selection();
    follow();
  }

  /** Brings the drawing up to the document as it is now, frame by frame. */
  function follow() {
    if (!drawn) return;
    const now = store.get().draft ?? store.get().document;
    const changes = changesBetween(drawn, now, roots);
    rootsNow = changes.roots;
    const before = touched;
    touched = new Set();
    for (const [id, [dx, dy]] of changes.moved) {
      for (const group of elements.get(id) ?? []) {
        group.setAttribute("transform", `translate(${dx} ${dy})`);
        touched.add(group);
      }
    }
    for (const [id, data] of changes.courses) {
      const channel = now.channels.find((/** @type {any} */ c) => c.id === id);
      for (const group of elements.get(id) ?? []) {
        group.classList.add("on-the-move");
        touched.add(group);
        for (const path of group.querySelectorAll(".bed, .centreline")) {
          if (!originals.has(path))
            originals.set(path, [path.getAttribute("d") ?? "", path.getAttribute("stroke-width") ?? ""]);
          path.setAttribute("d", data);
          if (path.classList.contains("bed")) path.setAttribute("stroke-width", channel.width_mm);
        }
      }
    }
    for (const id of changes.gone) {
      for (const group of elements.get(id) ?? []) {
        group.classList.add("gone");
        touched.add(group);
      }
    }
    for (const group of before) if (!touched.has(group)) restore(group);
    added.replaceChildren(...[...changes.added].map(([id, d]) => s("path.stand-in", { d, dataset: { id } })));
  }

  /** @param {Element} group */
  function restore(group) {
    group.removeAttribute("transform");
    group.classList.remove("gone", "on-the-move");
    for (const path of group.querySelectorAll(".bed, .centreline")) {
      const was = originals.get(path);
      if (!was) continue;
      path.setAttribute("d", was[0]);
      if (was[1]) path.setAttribute("stroke-width", was[1]);
    }
  }

  function view() {
    const { view, size, document, unit } = store.get();
    world.setAttribute("transform", transformOf(view));
    photo.setAttribute("transform", `${transformOf(view)} scale(1 -1)`);
    svg.style.setProperty("--u", String(1 / view.scale));
    for (const id of ["hatch-dry", "hatch-forbidden"]) {
      defs.querySelector(`#${id}`).setAttribute("patternTransform", `scale(${1 / view.scale})`);
    }
    const pitch = document?.grid?.pitch_mm ?? 5;
    let step = pitch;
    for (const times of [1, 2, 5, 10, 20, 50, 100, 200]) {
      step = pitch * times;
      if (step * view.scale >= 14) break;
    }
    if (unit === "in" && !document?.grid?.pitch_mm) step = stepFor(view.scale, 14, "in");
    const px = step * view.scale;
    const pattern = defs.querySelector("#square-grid");
    const [ox, oy] = [(document?.grid?.x_mm ?? 0) * view.scale, (document?.grid?.y_mm ?? 0) * view.scale];
    for (const [key, value] of Object.entries({ width: px, height: px, x: (view.x + ox) % px, y: (view.y - oy) % px }))
      pattern.setAttribute(key, String(value));
    pattern.firstChild.setAttribute("d", `M0 0H${px}M0 0V${px}`);
    void size;
  }

  function layers() {
    const { layers } = store.get();
    for (const layer of world.querySelectorAll("g.layer")) {
      const state = layers[layer.dataset.layer] ?? "shown";
      layer.classList.toggle("hidden", state === "hidden");
      layer.classList.toggle("dimmed", state === "dimmed");
    }
    photo.classList.toggle("hidden", layers.photo === "hidden");
    photo.classList.toggle("dimmed", layers.photo === "dimmed");
  }

  function selection() {
    const { selection, hover } = store.get();
    const picked = new Set(selection);
    for (const [id, groups] of elements) {
      for (const group of groups) {
        group.classList.toggle("picked", picked.has(id));
        group.classList.toggle("hovered", hover === id);
      }
    }
  }

  store.watch(["draft", "document"], follow);
  store.watch(["view", "size", "unit"], view);
  store.watch(["layers"], layers);
  store.watch(["selection", "hover"], selection);
  store.watch(["heights"], (/** @type {any} */ now) => svg.classList.toggle("with-heights", now.heights));

  return {
    adopt,
    follow,
    view,
    photo,
    /** Where channels reach ports, as the drawing has it now. */
    get roots() {
      return rootsNow;
    },
    /** The view that shows everything. @param {[number, number, number, number]} box */
    fit(box) {
      store.set({ view: fitted(box, store.get().size, 40) });
    },
    get drawnDocument() {
      return drawn;
    },
  };
}

/** @param {string} id @param {string[]} strokes */
function hatch(id, strokes) {
  return s(
    "pattern",
    { id, patternUnits: "userSpaceOnUse", width: 8, height: 8 },
    strokes.map((d) => s(`path.${id}-line`, { d })),
  );
}
