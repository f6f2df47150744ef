/** Making elements without a template language. Text always goes in as text. */

import { heldStill, redrawLater, redrawn } from "./pressing.js";

/** Attributes that only say how an element begins: what it is now stands in the property. */
const PROPERTIES = new Set(["value", "checked", "disabled", "selected"]);

const SVG = "http://www.w3.org/2000/svg";

/**
 * @typedef {import("./types.js").Child} Child
 * @typedef {import("./types.js").Props} Props
 */

/**
 * An HTML element: `h("button.quiet", {onclick, "aria-label": "Close"}, "Close")`.
 * @template {string} T
 * @param {T} tag with classes after full stops @param {import("./types.js").PropsOf<T>} [props] @param {...Child} children
 * @returns {import("./types.js").ElementOf<T>}
 */
export function h(tag, props, ...children) {
  const [name, ...classes] = tag.split(".");
  const element = /** @type {import("./types.js").ElementOf<T>} */ (document.createElement(name));
  return filled(element, classes, props ?? {}, children);
}

/**
 * An SVG element.
 * @template {string} T
 * @param {T} tag @param {Props} [props] @param {...Child} children
 * @returns {import("./types.js").SvgOf<T>}
 */
export function s(tag, props = {}, ...children) {
  const [name, ...classes] = tag.split(".");
  const element = /** @type {import("./types.js").SvgOf<T>} */ (document.createElementNS(SVG, name));
  return filled(element, classes, props, children);
}

/**
 * @template {HTMLElement|SVGElement} E
 * @param {E} element @param {string[]} classes @param {Props} props @param {Child[]} children @returns {E}
 */
function filled(element, classes, props, children) {
  if (classes.length) element.classList.add(...classes);
  for (const [key, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), /** @type {EventListener} */ (value));
    else if (key === "dataset") Object.assign(element.dataset, value);
    else if (PROPERTIES.has(key)) Object.assign(element, { [key]: value });
    else element.setAttribute(key, value === true ? "" : String(value));
  }
  add(element, children);
  return element;
}

/** @param {Node} parent @param {Child[]} children */
function add(parent, children) {
  for (const child of children) {
    if (child === null || child === undefined || child === false) continue;
    if (Array.isArray(child)) add(parent, child);
    else parent.appendChild(child instanceof Node ? child : document.createTextNode(String(child)));
  }
}

/** Replaces what an element holds. @param {Element} parent @param {...Child} children */
export function fill(parent, ...children) {
  parent.replaceChildren();
  add(parent, children);
}

/**
 * The element with an id, of a class of element when one is named; the page is broken without it.
 * @template {Element} [E=HTMLElement]
 * @param {string} id @param {abstract new (...given: never[]) => E} [kind]
 * @returns {E}
 */
export function byId(id, kind) {
  const found = /** @type {unknown} */ (document.getElementById(id));
  if (!found || (kind && !(found instanceof kind))) throw new Error(`the page has no element #${id}`);
  return /** @type {E} */ (found);
}

/** Puts the focus on the first element that is there. @param {...string} selectors */
export function focusOn(...selectors) {
  for (const selector of selectors) {
    const found = document.querySelector(selector);
    if (found instanceof HTMLElement || found instanceof SVGElement) {
      found.focus();
      return;
    }
  }
}

/** Where something is on the screen while it lies within the part that scrolls, px. @param {Element} parent @param {Element} child @returns {number|null} */
function placeInSight(parent, child) {
  const [room, box] = [parent.getBoundingClientRect(), child.getBoundingClientRect()];
  return box.bottom > room.top && box.top < room.bottom ? box.top : null;
}

/**
 * Fills a part of the page again, keeping the focus where it was, by the `data-keep` of the focused element, with its place on the screen, and what is
 * half typed there (`data-typing`), or else on the part itself: answers come when they come, and must not take words out of one's mouth.
 * @param {Element} parent @param {...Child} children
 */
export function refill(parent, ...children) {
  if (heldStill(parent)) return redrawLater(parent, () => refill(parent, ...children));
  redrawn(parent);
  const active = /** @type {HTMLInputElement|null} */ (
    parent.contains(document.activeElement) ? document.activeElement : null
  );
  const keep = active?.dataset?.keep;
  const [start, end] = keep && "selectionStart" in active ? [active.selectionStart, active.selectionEnd] : [null, null];
  const typed = keep && active.dataset.typing !== undefined ? active.value : null;
  if (typed !== null) delete active?.dataset.typing; // or leaving the page would take it for finished
  const seenAt = keep ? placeInSight(parent, active) : null;
  fill(parent, ...children);
  const again = keep
    ? /** @type {HTMLInputElement|null} */ (parent.querySelector(`[data-keep="${CSS.escape(keep)}"]`))
    : null;
  if (!again) {
    // What was pressed is gone with what it did: the part that it stood in is where one goes on.
    if (active && parent instanceof HTMLElement && parent.hasAttribute("tabindex")) parent.focus({ preventScroll: true });
    return;
  }
  again.focus({ preventScroll: true });
  if (seenAt !== null) parent.scrollTop += again.getBoundingClientRect().top - seenAt;
  if (typed !== null) {
    again.value = typed;
    again.dataset.typing = "";
  }
  if (start !== null && "setSelectionRange" in again)
    try {
      again.setSelectionRange(start, end);
    } catch {
      /* a kind of field without a caret */
    }
}

/** An SVG of the server's own, taken in as elements. @param {string} text */
export function adopted(text) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  if (parsed.nodeName !== "svg") return document.createTextNode("The plot could not be read.");
  parsed.querySelectorAll("style, script").forEach((node) => node.remove());
  return document.importNode(parsed, true);
}
