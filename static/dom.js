/** Making elements without a template language. Text always goes in as text. */

const SVG = "http://www.w3.org/2000/svg";

/** What an element can hold: nodes, words, nothing, and lists of these. @typedef {any} Child */

/**
 * An HTML element: `h("button.quiet", {onclick, "aria-label": "Close"}, "Close")`.
 * @param {string} tag with classes after full stops @param {Record<string, any>} [props] @param {...Child} children
 * @returns {any}
 */
export function h(tag, props = {}, ...children) {
  const [name, ...classes] = tag.split(".");
  const element = document.createElement(name);
  return filled(element, classes, props, children);
}

/** An SVG element. @param {string} tag @param {Record<string, any>} [props] @param {...Child} children @returns {any} */
export function s(tag, props = {}, ...children) {
  const [name, ...classes] = tag.split(".");
  return filled(document.createElementNS(SVG, name), classes, props, children);
}

/** @param {any} element @param {string[]} classes @param {Record<string, any>} props @param {Child[]} children */
function filled(element, classes, props, children) {
  if (classes.length) element.classList.add(...classes);
  for (const [key, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (key === "dataset") Object.assign(element.dataset, value);
    else if (key === "value" || key === "checked" || key === "disabled" || key === "selected") element[key] = value;
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

/** The element with an id; the page is broken without it. @param {string} id @returns {any} */
export function byId(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no element #${id}`);
  return found;
}

/**
 * Fills a part of the page again, keeping the focus where it was, by the `data-keep` of the focused element, and what is
 * half typed there (`data-typing`): answers come when they come, and must not take words out of one's mouth.
 * @param {Element} parent @param {...Child} children
 */
export function refill(parent, ...children) {
  const active = /** @type {any} */ (document.activeElement);
  const keep = active && parent.contains(active) ? active.dataset?.keep : null;
  const [start, end] = keep && "selectionStart" in active ? [active.selectionStart, active.selectionEnd] : [null, null];
  const typed = keep && active.dataset.typing !== undefined ? active.value : null;
  if (typed !== null) delete active.dataset.typing; // or leaving the page would take it for finished
  fill(parent, ...children);
  if (!keep) return;
  const again = /** @type {any} */ (parent.querySelector(`[data-keep="${CSS.escape(keep)}"]`));
  if (!again) return;
  again.focus({ preventScroll: true });
  if (typed !== null) {
    again.value = typed;
    again.dataset.typing = "";
  }
  if (start !== null && again.setSelectionRange)
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
