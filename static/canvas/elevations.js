/** The case from the front and from a side, under the plan: heights are dragged there, and what collides is marked. */

import { adopted, h, refill } from "../dom.js";
import { sentence } from "../server/api.js";
import { createElevationDrag, createElevationKeys, scaleOf } from "./elevationhands.js";

/**
 * @typedef {import("../types.js").Side} Side
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions, api: import("../types.js").Api,
 *   root: HTMLElement, button: HTMLElement}} Parts
 * @typedef {{side: Side, answer: import("../types.js").ElevationAnswer, of: PlateDocument, svg: SVGElement}} Shown
 *   a view as it is drawn, and the document it shows
 * @typedef {{drag: ReturnType<typeof createElevationDrag>, keys: ReturnType<typeof createElevationKeys>}} Hands
 */

/** @type {[Side, string][]} */
const SIDES = [
  ["front", "Front"],
  ["left", "Left side"],
  ["rear", "Rear"],
  ["right", "Right side"],
];

/** @param {Parts} parts */
export function createElevations({ store, actions, api, root, button }) {
  const views = createViews({ store, api }, () => {
    draw();
    if (views.problem) keys.forget();
    keys.go();
  });
  const keys = createElevationKeys({ store, actions }, views.of);
  const drag = createElevationDrag({ store, actions }, (kept) => {
    // What was kept stays where the hand left it until the server has drawn it.
    if (!kept) for (const { svg } of views.all()) backInPlace(svg);
    draw();
    void views.ask();
  });

  function draw() {
    root.hidden = !store.get().elevations;
    button.setAttribute("aria-pressed", String(!root.hidden));
    root.parentElement?.classList.toggle("with-elevations", !root.hidden);
    // A view that is being dragged in stays, or the pointer would lose it.
    if (root.hidden || drag.active) return;
    const show = (/** @type {Side} */ side, /** @type {number} */ place) => {
      views.show(side, place);
      draw();
      void views.ask();
    };
    refill(
      root,
      views.problem ? h("p.problem", {}, views.problem) : null,
      views.sides.map((side, place) => figure({ side, place, view: views.of(side), hands: { drag, keys }, show })),
    );
    mark();
  }

  const mark = () => markSelected(views.all(), store.get().selection);

  window.addEventListener(
    "keydown",
    (event) => {
      const undo = (event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z";
      if ((event.key !== "Escape" && !undo) || !drag.cancel()) return;
      event.preventDefault();
      event.stopPropagation();
    },
    { capture: true },
  );
  button.addEventListener("click", () => store.set({ elevations: !store.get().elevations }));
  store.watch(["elevations", "document", "draft"], () => {
    if (root.hidden === store.get().elevations) draw();
    void views.ask();
  });
  store.watch(["selection"], () => {
    keys.forget();
    mark();
  });
  return { draw };
}

/**
 * The two views and what the server says of them: one question at a time, always about the newest document.
 * @param {Pick<Parts, "store"|"api">} parts @param {() => void} fresh told when an answer is there
 */
function createViews({ store, api }, fresh) {
  /** @type {Side[]} */
  const sides = ["front", "left"];
  /** @type {Map<Side, Shown>} */
  const shown = new Map();
  let asking = false;
  let problem = "";
  const newest = () => store.get().draft ?? store.get().document;

  /** @param {PlateDocument} now */
  async function answered(now) {
    try {
      const answer = await api.answer(now, ["findings", "elevations"], { quick: true, sides });
      problem = answer.elevations ? "" : (answer.missing?.elevations ?? "");
      for (const side of sides) {
        const view = answer.elevations?.[side];
        const svg = view && adopted(view.svg);
        if (view && svg instanceof SVGElement) shown.set(side, { side, answer: view, of: now, svg });
      }
    } catch (error) {
      problem = sentence(error);
    }
  }

  const views = {
    sides,
    get problem() {
      return problem;
    },
    /** @param {Side} side */
    of: (side) => shown.get(side),
    all: () => [...shown.values()],
    /** @param {Side} side @param {number} place the first view or the second */
    show(side, place) {
      sides[place] = side;
    },
    /** The newest document is asked about as soon as the last answer is there. */
    async ask() {
      const now = newest();
      if (asking || !store.get().elevations || !now) return;
      if (sides.every((side) => shown.get(side)?.of === now) && !problem) return;
      asking = true;
      await answered(now);
      asking = false;
      fresh();
      if (newest() !== now) void views.ask();
    },
  };
  return views;
}

/** @param {{side: Side, place: number, view: Shown|undefined, hands: Hands, show: (side: Side, place: number) => void}} given */
function figure({ side, place, view, hands, show }) {
  const title = SIDES.find(([name]) => name === side)?.[1] ?? side;
  const choice = h(
    "select",
    {
      "aria-label": `Elevation ${place + 1}`,
      "data-keep": `elevation-${place}`,
      onchange: (e) => show(/** @type {Side} */ (e.currentTarget.value), place),
    },
    SIDES.map(([name, words]) => h("option", { value: name, selected: name === side }, words)),
  );
  return h(
    "figure.elevation-view",
    {},
    h("figcaption", {}, choice),
    view ? drawingOf(view, title, place, hands) : h("p.quiet", {}, "…"),
  );
}

/** @param {Shown} view @param {string} title @param {number} place @param {Hands} hands */
function drawingOf(view, title, place, hands) {
  const { svg } = view;
  svg.setAttribute("preserveAspectRatio", "xMidYMid meet");
  svg.removeAttribute("width");
  svg.removeAttribute("height");
  for (const [key, value] of Object.entries({
    tabindex: "0",
    role: "application",
    "data-keep": `elevation-drawing-${place}`,
    "aria-label": `${title} elevation. Arrow up and down raise and lower what is selected; left and right move it.`,
  }))
    svg.setAttribute(key, value);
  if (!svg.dataset.wired) wire(view, hands);
  svg.dataset.wired = "yes";
  requestAnimationFrame(() => svg.style.setProperty("--u", String(1 / (scaleOf(svg) || 1))));
  return svg;
}

/** @param {Shown} view @param {Hands} hands */
function wire(view, { drag, keys }) {
  const { svg, side } = view;
  svg.addEventListener("pointerdown", (event) => drag.take(svg, event));
  svg.addEventListener("pointermove", (event) => drag.move(view, event));
  svg.addEventListener("pointerup", (event) => {
    if (drag.holds(event.pointerId)) drag.drop();
  });
  svg.addEventListener("pointercancel", drag.cancel);
  svg.addEventListener("lostpointercapture", (event) => {
    if (drag.holds(event.pointerId)) drag.cancel();
  });
  svg.addEventListener("keydown", (event) => keys.press(side, /** @type {KeyboardEvent} */ (event)));
}

/** @param {SVGElement} svg */
function backInPlace(svg) {
  for (const group of svg.querySelectorAll("g.item[transform]")) group.removeAttribute("transform");
}

/** @param {Shown[]} views @param {string[]} selection */
function markSelected(views, selection) {
  for (const { svg } of views)
    for (const group of /** @type {NodeListOf<SVGElement>} */ (svg.querySelectorAll("g.item[data-id]")))
      group.classList.toggle("selected", selection.includes(group.dataset.id ?? ""));
}
