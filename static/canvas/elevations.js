/** The case from the front and from a side, under the plan: heights are dragged there, and what collides is marked. */

import { adopted, h, refill } from "../dom.js";
import { find, withGroups } from "../model/document.js";
import { elevationMoved, meant, oneWay, riseAllowed } from "../model/elevations.js";
import { tubePoints } from "../model/tubes.js";
import { sentence } from "../server/api.js";

/**
 * @typedef {import("../types.js").Side} Side
 * @typedef {import("../types.js").ElevationAnswer} ElevationAnswer
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions, api: import("../types.js").Api,
 *   root: HTMLElement, button: HTMLElement}} Parts
 * @typedef {{side: Side, answer: ElevationAnswer, of: PlateDocument, svg: SVGElement}} Shown  a view as it is drawn, and the document it shows
 */

/** @type {[Side, string][]} */
const SIDES = [
  ["front", "Front"],
  ["left", "Left side"],
  ["rear", "Rear"],
  ["right", "Right side"],
];
/** A press that moves less than this is a click, px. */
const STILL = 3;

/** @param {Parts} parts */
export function createElevations(parts) {
  // Long, because the two views, what is asked for and what is dragged are one state.
  const { store, actions, api, root, button } = parts;
  /** @type {Side[]} */
  const sides = ["front", "left"];
  /** @type {Map<Side, Shown>} */
  const shown = new Map();
  let asking = false;
  let problem = "";

  /** The newest document is asked about as soon as the last answer is there. */
  async function ask() {
    if (asking || !store.get().elevations) return;
    const { draft, document } = store.get();
    const now = draft ?? document;
    if (!now || (sides.every((side) => shown.get(side)?.of === now) && !problem)) return;
    asking = true;
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
      waiting = null;
    }
    asking = false;
    draw();
    nudgeOn();
    const newest = store.get().draft ?? store.get().document;
    if (newest !== now) void ask();
  }

  function draw() {
    root.hidden = !store.get().elevations;
    button.setAttribute("aria-pressed", String(!root.hidden));
    root.parentElement?.classList.toggle("with-elevations", !root.hidden);
    // A view that is being dragged in stays, or the pointer would lose it.
    if (root.hidden || drag) return;
    refill(root, problem ? h("p.problem", {}, problem) : null, sides.map((side, i) => figure(side, i)));
    mark();
  }

  /** @param {Side} side @param {number} i */
  function figure(side, i) {
    const view = shown.get(side);
    const title = SIDES.find(([name]) => name === side)?.[1] ?? side;
    return h(
      "figure.elevation-view",
      {},
      h(
        "figcaption",
        {},
        h(
          "select",
          {
            "aria-label": `Elevation ${i + 1}`,
            "data-keep": `elevation-${i}`,
            onchange: (e) => {
              sides[i] = /** @type {Side} */ (e.currentTarget.value);
              draw();
              void ask();
            },
          },
          SIDES.map(([name, words]) => h("option", { value: name, selected: name === side }, words)),
        ),
      ),
      view ? stage(view, title, i) : h("p.quiet", {}, "…"),
    );
  }

  /** @param {Shown} view @param {string} title @param {number} i */
  function stage(view, title, i) {
    const { svg } = view;
    svg.setAttribute("preserveAspectRatio", "xMidYMid meet");
    svg.removeAttribute("width");
    svg.removeAttribute("height");
    for (const [key, value] of Object.entries({
      tabindex: "0",
      role: "application",
      "data-keep": `elevation-drawing-${i}`,
      "aria-label": `${title} elevation. Arrow up and down raise and lower what is selected; left and right move it.`,
    }))
      svg.setAttribute(key, value);
    if (!svg.dataset.wired) wire(view);
    svg.dataset.wired = "yes";
    requestAnimationFrame(() => svg.style.setProperty("--u", String(1 / (scaleOf(svg) || 1))));
    return svg;
  }

  /** @type {{key: string, from: import("../types.js").Point, moved: boolean, of: PlateDocument, pointer: number}|null} */
  let drag = null;

  /** @param {Shown} view */
  function wire(view) {
    const { svg, answer } = view;
    svg.addEventListener("pointerdown", (event) => {
      if (event.button || drag) return;
      const group = event.target instanceof Element ? event.target.closest("g.item[data-id]") : null;
      const key = group instanceof SVGElement ? keyOf(group) : "";
      if (!key) return;
      svg.setPointerCapture(event.pointerId);
      drag = { key, from: [event.clientX, event.clientY], moved: false, of: store.get().document, pointer: event.pointerId };
    });
    svg.addEventListener("pointermove", (event) => {
      if (drag?.pointer !== event.pointerId) return;
      if (event.buttons === 0) return end();
      const [dx, dy] = [event.clientX - drag.from[0], event.clientY - drag.from[1]];
      if (!drag.moved && Math.hypot(dx, dy) < STILL) return;
      const move = answer.moves[drag.key];
      if (!move || view.of !== drag.of || store.get().document !== drag.of) return;
      drag.moved = true;
      const scale = scaleOf(svg) || 1;
      const corner = drag.key.includes("/");
      const [right, up] = oneWay(meant(dx / scale, event.altKey), meant(-dy / scale, event.altKey), corner);
      follow(svg, drag.key, right, riseAllowed(drag.of, move, up));
      actions.draft(elevationMoved(drag.of, move, right, up));
    });
    const end = () => {
      if (!drag) return;
      const { key, moved } = drag;
      drag = null;
      const [id, corner] = key.split("/");
      const spot = tubePoints(store.get().document, id)?.[Number(corner)] ? { id, index: Number(corner) } : null;
      if (moved) actions.keepDraft(corner === "top" ? `Change the height of ${id}` : `Move ${id} in an elevation`);
      else if (id === "plate" || id === "floor" || find(store.get().document, id)) actions.select([id], { spot });
      draw();
      void ask();
    };
    svg.addEventListener("pointerup", (event) => {
      if (drag?.pointer === event.pointerId) end();
    });
    svg.addEventListener("pointercancel", cancel);
    svg.addEventListener("lostpointercapture", (event) => {
      if (drag?.pointer === event.pointerId) cancel();
    });
    svg.addEventListener("keydown", (event) => nudge(view, /** @type {KeyboardEvent} */ (event)));
  }

  /** What is dragged goes back to where it was. */
  function cancel() {
    if (!drag) return;
    drag = null;
    actions.dropDraft();
    for (const { svg } of shown.values()) for (const group of svg.querySelectorAll("g.item[transform]")) group.removeAttribute("transform");
    draw();
  }

  /** What the arrow keys ask for that no view of this document has come for yet, mm. @type {{side: Side, right: number, up: number}|null} */
  let waiting = null;

  /** The selection by the arrow keys, as it is on the plan. @param {Shown} view @param {KeyboardEvent} event */
  function nudge({ side }, event) {
    const way = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }[event.key];
    if (!way || event.altKey) return;
    event.preventDefault();
    event.stopPropagation();
    const by = event.ctrlKey || event.metaKey ? 0.1 : event.shiftKey ? 10 : 1;
    const { right, up } = waiting?.side === side ? waiting : { right: 0, up: 0 };
    waiting = { side, right: right + way[0] * by, up: up + way[1] * by };
    nudgeOn();
  }

  /** Moves by what the keys asked for, as soon as the view says how: a key that is pressed meanwhile is not lost. */
  function nudgeOn() {
    const { document, selection } = store.get();
    const now = waiting && shown.get(waiting.side);
    if (!waiting || !now || now.of !== document) return;
    const { right, up } = waiting;
    waiting = null;
    const whole = chosen(store.get().spot) ?? (selection.length === 1 && selection[0] === "plate" ? ["plate"] : withGroups(document, selection));
    const moves = whole.map((id) => now.answer.moves[id]).filter(Boolean);
    if (!moves.length) {
      actions.say("Nothing here can be moved: it is locked, or nothing is selected.");
      return;
    }
    const next = moves.reduce((d, move) => elevationMoved(d, move, right, up), document);
    actions.commit(next, `Move ${selection.join(", ")} in an elevation`, { spot: store.get().spot });
  }

  /** A corner of a tube that is chosen, as the moves call it. @param {import("../types.js").Spot|null} spot */
  const chosen = (spot) => (spot && tubePoints(store.get().document, spot.id)?.[spot.index] ? [`${spot.id}/${spot.index}`] : null);

  function mark() {
    const { selection } = store.get();
    for (const { svg } of shown.values())
      for (const group of /** @type {NodeListOf<SVGElement>} */ (svg.querySelectorAll("g.item[data-id]")))
        group.classList.toggle("selected", selection.includes(group.dataset.id ?? ""));
  }

  window.addEventListener(
    "keydown",
    (event) => {
      if (!drag || (event.key !== "Escape" && !((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z"))) return;
      event.preventDefault();
      event.stopPropagation();
      cancel();
    },
    { capture: true },
  );
  button.addEventListener("click", () => store.set({ elevations: !store.get().elevations }));
  store.watch(["elevations", "document", "draft"], () => {
    if (root.hidden === store.get().elevations) draw();
    void ask();
  });
  store.watch(["selection"], () => {
    waiting = null;
    mark();
  });
  return { draw };
}

/** The key of a thing among the moves: its id, or a tube's corner. @param {SVGElement} group */
const keyOf = ({ dataset }) => (dataset.index === undefined ? (dataset.id ?? "") : `${dataset.id}/${dataset.index}`);

/** px per mm of a drawing that fills its box as far as it fits. @param {SVGElement} svg */
function scaleOf(svg) {
  const box = svg.getAttribute("viewBox")?.split(" ").map(Number) ?? [0, 0, 1, 1];
  const { clientWidth, clientHeight } = svg;
  return Math.min(clientWidth / box[2], clientHeight / box[3]);
}

/** The groups of a thing are shifted in the same frame; the server's drawing takes over when the hand is off. @param {SVGElement} svg @param {string} key @param {number} right @param {number} up */
function follow(svg, key, right, up) {
  for (const group of /** @type {NodeListOf<SVGElement>} */ (svg.querySelectorAll("g.item[data-id]")))
    if (keyOf(group) === key) group.setAttribute("transform", `translate(${right} ${up})`);
}
