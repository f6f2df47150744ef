/** What the pointer does on the drawing: mouse, pen and fingers alike. */

import { movePoint, placeOnCourse } from "../model/centrelines.js";
import { centreOf, cornersOf, find, itemsOf } from "../model/document.js";
import { change, micro, move, movable, put } from "../model/edit.js";
import { itemsAt, itemsWithin } from "../geometry/hits.js";
import { distance } from "../geometry/path.js";
import { free, snap, targetsOf } from "../geometry/snap.js";
import { panned, toFloor, zoomed } from "../geometry/view.js";

/** @typedef {import("../types.js").Point} Point */

/** How near counts as on it, px: a finger is broader than a mouse. */
const REACH = { mouse: 8, pen: 10, touch: 18 };
/** A press that moves less than this is a click, px. */
/** @type {Record<string, number>} */
const STILL = { mouse: 3, pen: 5, touch: 9 };

/** @param {{store: any, actions: any, tools: any, stage: any, svg: SVGSVGElement}} parts */
export function createPointer({ store, actions, tools, stage, svg }) {
  /** @type {any} */
  let press = null;
  /** @type {Map<number, Point>} */
  const fingers = new Map();
  /** @type {any} */
  let targets = null;
  /** @type {any} */
  let targetsFor = null;

  /** Where the drawing is on the page: asked for when it may have changed, not at every move. @type {DOMRect|null} */
  let box = null;
  const here = (/** @type {PointerEvent|WheelEvent} */ event) => {
    box ??= svg.getBoundingClientRect();
    return /** @type {Point} */ ([event.clientX - box.left, event.clientY - box.top]);
  };
  const kindOf = (/** @type {PointerEvent} */ event) =>
    /** @type {"mouse"|"pen"|"touch"} */ (event.pointerType in REACH ? event.pointerType : "mouse");
  const hidden = () =>
    new Set(
      Object.entries(store.get().layers)
        .filter(([, state]) => state === "hidden")
        .map(([name]) => name),
    );

  /** @param {Point} floor @param {{reach: number, from?: Point|null, without?: Set<string>, free?: boolean}} options */
  function snapped(floor, options) {
    const { document, look, snapping } = store.get();
    if (options.free || !snapping) return free(floor);
    const key = [document, look?.snaps];
    if (!targetsFor || targetsFor[0] !== key[0] || targetsFor[1] !== key[1]) {
      targets = targetsOf(document, look?.snaps ?? []);
      targetsFor = key;
    }
    return snap(floor, targets, options);
  }

  /** @param {PointerEvent} event */
  function down(event) {
    if (event.button > 1 || press?.dragging) return;
    svg.focus({ preventScroll: true });
    const at = here(event);
    const kind = kindOf(event);
    fingers.set(event.pointerId, at);
    svg.setPointerCapture(event.pointerId);
    store.set({ penShown: false });
    if (fingers.size === 2) {
      actions.dropDraft();
      press = { mode: "pinch", before: [...fingers.values()], view: store.get().view };
      return;
    }
    const state = store.get();
    const floor = toFloor(state.view, at);
    const reach = REACH[kind] / state.view.scale;
    press = {
      mode: "",
      start: at,
      floor,
      reach,
      kind,
      dragging: false,
      adding: event.shiftKey,
      before: state.document,
    };
    if (event.button === 1 || event.buttons === 4) {
      press.mode = "pan";
      return;
    }
    const handle = /** @type {Element} */ (event.target).closest?.("[data-handle]");
    if (handle && !state.tool) {
      press.mode = "handle";
      press.handle = { .../** @type {HTMLElement} */ (handle).dataset };
      return;
    }
    const mark = /** @type {Element} */ (event.target).closest?.("[data-finding]");
    if (mark && !state.tool) {
      press.mode = "finding";
      press.finding = (state.look?.findings ?? []).filter((/** @type {any} */ f) => f.at && !f.accepted)[
        Number(/** @type {HTMLElement} */ (mark).dataset.finding)
      ];
    }
    if (state.tool) {
      press.mode = "tool";
      return;
    }
    const ids = itemsAt(state.document, floor, reach, hidden(), stage.roots);
    const drawn = /** @type {HTMLElement|null} */ (/** @type {Element} */ (event.target).closest?.("g.item[data-id]"));
    if (!ids.length && drawn && find(state.document, drawn.dataset.id ?? ""))
      ids.push(/** @type {string} */ (drawn.dataset.id));
    press.ids = ids;
    if (press.mode === "finding") return;
    if (!ids.length) {
      press.mode = event.shiftKey ? "marquee" : "pan";
      return;
    }
    press.mode = "item";
    const already = ids.find((/** @type {string} */ id) => state.selection.includes(id));
    press.id = already ?? ids[0];
    press.was = Boolean(already);
    if (!event.shiftKey && !already) actions.pick([press.id]);
    press.centre = centreOf(store.get().document, press.id) ?? floor;
  }

  /** @param {PointerEvent} event */
  function moveTo(event) {
    const at = here(event);
    const state = store.get();
    if (fingers.has(event.pointerId)) fingers.set(event.pointerId, at);
    const floor = toFloor(state.view, at);
    if (press?.mode === "pinch") return pinch();
    if (!press) {
      const reach = REACH[kindOf(event)] / state.view.scale;
      if (state.tool) {
        store.set({ pointer: floor, snap: snapped(floor, { reach, from: lastPlace(state), free: event.altKey }) });
      } else {
        const [id] = itemsAt(state.document, floor, reach, hidden(), stage.roots);
        store.set({ pointer: floor, hover: id ?? null, snap: null });
        svg.classList.toggle("over-item", Boolean(id));
      }
      return;
    }
    const [dx, dy] = [at[0] - press.start[0], at[1] - press.start[1]];
    if (!press.dragging && Math.hypot(dx, dy) < STILL[press.kind]) return;
    if (!press.dragging) {
      press.dragging = true;
      press.view = state.view;
      if (press.mode === "finding") press.mode = press.ids?.length ? "item" : "pan";
      if (press.mode === "tool" && press.kind === "touch") press.mode = "pan";
      svg.classList.add("dragging");
    }
    store.set({ pointer: floor });
    const free = event.altKey;
    switch (press.mode) {
      case "pan":
        store.set({ view: panned(press.view, dx, dy) });
        break;
      case "marquee":
        store.set({ marquee: [press.floor, floor] });
        break;
      case "item":
        dragItems(floor, free);
        break;
      case "handle":
        dragHandle(floor, free);
        break;
      case "tool":
        store.set({ snap: snapped(floor, { reach: press.reach, from: lastPlace(state), free }) });
        break;
      default:
    }
  }

  /** @param {any} state @returns {Point|null} */
  function lastPlace(state) {
    const last =
      (state.course ?? []).at(-1) ??
      (state.measure?.length === 1 ? state.measure[0] : null) ??
      (state.sectionLine?.length === 1 ? state.sectionLine[0] : null);
    if (!last) return null;
    if (typeof last !== "string") return last;
    const item = find(state.document, last)?.item;
    return item ? [item.x_mm, item.y_mm] : null;
  }

  /** @param {Point} floor @param {boolean} free */
  function dragItems(floor, free) {
    const { selection } = store.get();
    const document = press.before;
    if (!selection.includes(press.id)) actions.pick([press.id]);
    const ids = actions.moving(store.get().selection);
    const can = ids.filter((/** @type {string} */ id) => {
      const found = find(document, id);
      return found && movable(found.item, found.kind);
    });
    if (!can.length) {
      if (!press.told) actions.say("It stays where it is: it is locked, or something else holds it.");
      press.told = true;
      return;
    }
    // Channels that follow along would pull the snap after themselves.
    const without = new Set([
      ...can,
      ...itemsOf(document, "channel")
        .filter((c) => can.includes(c.start) || can.includes(c.end))
        .map((c) => c.id),
    ]);
    const wanted = /** @type {Point} */ ([
      press.centre[0] + floor[0] - press.floor[0],
      press.centre[1] + floor[1] - press.floor[1],
    ]);
    const found = snapped(wanted, { reach: press.reach, from: press.centre, without, free });
    store.set({ snap: found });
    actions.draft(move(document, can, found.point[0] - press.centre[0], found.point[1] - press.centre[1]));
  }

  /** @param {Point} floor @param {boolean} free */
  function dragHandle(floor, free) {
    const { selection, document } = store.get();
    const [id] = selection;
    const index = Number(press.handle.index);
    const found = find(press.before, id);
    if (press.handle.handle === "ghost") {
      const port = find(press.before, press.handle.port)?.item;
      if (!port) return;
      const rounded = (/** @type {number} */ v) => Math.round(v * 10) / 10;
      actions.draft(
        put(
          press.before,
          ["fit_readings"],
          press.before.fit_readings.map((/** @type {any} */ r) =>
            r.port === port.id
              ? { ...r, dx_mm: rounded(floor[0] - port.x_mm), dy_mm: rounded(floor[1] - port.y_mm) }
              : r,
          ),
        ),
      );
      return;
    }
    if (!found) return;
    const item = found.item;
    if (press.handle.handle === "insert" && !press.inserted) {
      const spot = placeOnCourse(press.before, id, press.floor, stage.roots);
      if (!spot) return;
      press.before = change(press.before, id, (c) =>
        put(
          c,
          ["points"],
          [
            ...(c.points ?? []).slice(0, spot.index),
            { x_mm: spot.point[0], y_mm: spot.point[1] },
            ...(c.points ?? []).slice(spot.index),
          ],
        ),
      );
      press.inserted = true;
      press.handle = { handle: "corner", index: spot.index };
      store.set({ spot: { id, index: spot.index } });
      return dragHandle(floor, free);
    }
    switch (press.handle.handle) {
      case "corner": {
        const corners = cornersOf(press.before, item, stage.roots);
        const before = corners[index + (item.start ? 1 : 0) - 1];
        const rest = snapped(floor, { reach: press.reach, from: before ?? null, without: new Set([id]), free });
        store.set({ snap: rest, spot: { id, index } });
        actions.draft(movePoint(press.before, id, index, rest.point));
        break;
      }
      case "bend": {
        // Away from the corner is a larger radius: the handle's way along the bisector, whatever the angle.
        const corners = cornersOf(press.before, item, stage.roots);
        const at = index + (item.start ? 1 : 0);
        const turn = turnAt(corners, at);
        const reach = distance(corners[at], floor);
        const inward = 1 / Math.cos(turn / 2) - 1;
        const radius = inward > 1e-6 ? Math.round((reach / inward) * 2) / 2 : 0;
        store.set({ spot: { id, index } });
        actions.draft(
          change(press.before, id, (c) =>
            put(c, ["points", index, "bend_radius_mm"], Math.max(0, Math.min(radius, 500))),
          ),
        );
        break;
      }
      case "vertex": {
        const rest = snapped(floor, { reach: press.reach, without: new Set([id]), free });
        store.set({ snap: rest, spot: { id, index } });
        actions.draft(
          change(press.before, id, (i) =>
            put(i, ["outline", "vertices", index], {
              ...i.outline.vertices[index],
              x_mm: micro(rest.point[0]),
              y_mm: micro(rest.point[1]),
            }),
          ),
        );
        break;
      }
      case "size": {
        const rest = snapped(floor, { reach: press.reach, without: new Set([id]), free });
        store.set({ snap: rest });
        actions.draft(change(press.before, id, (i) => put(i, ["outline"], resized(i.outline, rest.point))));
        break;
      }
      default:
    }
    void document;
  }

  /** @param {PointerEvent} event */
  function up(event) {
    fingers.delete(event.pointerId);
    svg.classList.remove("dragging");
    const done = press;
    if (done?.mode === "pinch") {
      if (!fingers.size) press = null;
      return;
    }
    press = null;
    if (!done) return;
    const state = store.get();
    if (done.dragging && (done.mode === "item" || done.mode === "handle")) {
      const label =
        done.mode === "item" ? `Move ${state.selection.join(", ")}` : `Shape ${state.selection[0] ?? "a ghost marker"}`;
      if (state.draft) actions.commit(state.draft, label, { snap: null });
      else store.set({ snap: null });
      return;
    }
    if (done.mode === "marquee") {
      if (state.marquee) {
        const ids = itemsWithin(
          state.document,
          state.marquee[0],
          state.marquee[1],
          (id) => centreOf(state.document, id),
          hidden(),
        );
        actions.pick([...new Set([...state.selection, ...ids])]);
        actions.say(`${ids.length} picked.`);
      }
      store.set({ marquee: null });
      return;
    }
    if (done.mode === "tool") {
      const rest = snapped(toFloor(state.view, here(event)), {
        reach: done.reach,
        from: lastPlace(state),
        free: event.altKey,
      });
      tools.at(rest.point, { keep: event.shiftKey, reach: done.reach });
      return;
    }
    if (done.dragging) return;
    if (done.mode === "finding" && done.finding) {
      store.set({ finding: done.finding });
      actions.pick(done.finding.items.filter((/** @type {string} */ id) => find(state.document, id)));
      return;
    }
    if (done.mode === "handle") {
      const [id] = state.selection;
      if (done.handle.handle === "insert") {
        const spot = placeOnCourse(state.document, id, done.floor, stage.roots);
        if (spot)
          actions.edit(
            `Add a corner to ${id}`,
            (/** @type {any} */ d) =>
              change(d, id, (c) =>
                put(
                  c,
                  ["points"],
                  [
                    ...(c.points ?? []).slice(0, spot.index),
                    { x_mm: micro(spot.point[0]), y_mm: micro(spot.point[1]) },
                    ...(c.points ?? []).slice(spot.index),
                  ],
                ),
              ),
            { spot: { id, index: spot.index } },
          );
      } else if (done.handle.index !== undefined) {
        store.set({ spot: { id, index: Number(done.handle.index) } });
      }
      return;
    }
    if (done.mode === "item") {
      if (done.adding) actions.pick([done.ids[0]], { adding: true });
      // A second click in the same place goes on to what lies beneath.
      else if (done.was && done.ids.length > 1)
        actions.pick([done.ids[(done.ids.indexOf(done.id) + 1) % done.ids.length]]);
      else actions.pick([done.id]);
      return;
    }
    if (done.mode === "pan") actions.pick([]);
  }

  function cancel() {
    if (!press) return false;
    press = null;
    fingers.clear();
    svg.classList.remove("dragging");
    store.set({ snap: null, marquee: null });
    actions.dropDraft();
    return true;
  }

  function pinch() {
    const [a0, b0] = press.before;
    const [a, b] = [...fingers.values()];
    if (!a || !b) return;
    const middle0 = /** @type {Point} */ ([(a0[0] + b0[0]) / 2, (a0[1] + b0[1]) / 2]);
    const middle = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    const factor = distance(a, b) / Math.max(distance(a0, b0), 1);
    store.set({ view: panned(zoomed(press.view, factor, middle0), middle[0] - middle0[0], middle[1] - middle0[1]) });
  }

  /** @param {WheelEvent} event */
  function wheel(event) {
    event.preventDefault();
    const { view } = store.get();
    if (event.shiftKey && !event.ctrlKey) {
      store.set({ view: panned(view, -(event.deltaX || event.deltaY), 0) });
      return;
    }
    const lines = event.deltaMode === 1 ? 16 : event.deltaMode === 2 ? 400 : 1;
    store.set({ view: zoomed(view, Math.exp((-event.deltaY * lines * (event.ctrlKey ? 4 : 1)) / 500), here(event)) });
  }

  for (const name of ["pointerenter", "pointerdown"])
    svg.addEventListener(
      name,
      () => {
        box = null;
      },
      { capture: true },
    );
  window.addEventListener("resize", () => {
    box = null;
  });
  svg.addEventListener("pointerdown", down);
  svg.addEventListener("pointermove", moveTo);
  svg.addEventListener("pointerup", up);
  svg.addEventListener("pointercancel", cancel);
  svg.addEventListener("pointerleave", () => {
    if (!press) store.set({ pointer: null, hover: null, snap: null });
  });
  svg.addEventListener("wheel", wheel, { passive: false });
  svg.addEventListener("dblclick", () => {
    if (store.get().tool?.course) tools.finish();
  });

  return { cancel, snapped };
}

/** @param {Point[]} corners @param {number} i */
function turnAt(corners, i) {
  const [a, b, c] = [corners[i - 1], corners[i], corners[i + 1]];
  if (!a || !c) return 0;
  return Math.abs(
    Math.atan2(
      (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]),
      (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]),
    ),
  );
}

/** An outline whose corner has been pulled to a place; its middle stays. @param {any} outline @param {Point} to */
export function resized(outline, to) {
  const turn = (-(outline.turn_deg ?? 0) * Math.PI) / 180;
  const [dx, dy] = [to[0] - outline.x_mm, to[1] - outline.y_mm];
  const [u, v] = [
    Math.abs(dx * Math.cos(turn) - dy * Math.sin(turn)),
    Math.abs(dx * Math.sin(turn) + dy * Math.cos(turn)),
  ];
  const size = (/** @type {number} */ value) => Math.max(0.5, micro(Math.round(2 * value * 10) / 10));
  if (outline.shape === "circle") return { ...outline, diameter_mm: size(Math.hypot(dx, dy)) };
  if (outline.shape === "slot") {
    const width = size(v);
    return { ...outline, width_mm: width, length_mm: Math.max(width, size(u)) };
  }
  const [width, depth] = [size(u), size(v)];
  const radius = Math.min(outline.corner_radius_mm ?? 0, Math.min(width, depth) / 2);
  return {
    ...outline,
    width_mm: width,
    depth_mm: depth,
    ...(outline.corner_radius_mm ? { corner_radius_mm: radius } : {}),
  };
}
