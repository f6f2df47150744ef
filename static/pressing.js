/**
 * A press that meets a redraw. Leaving a field takes what was typed, and answers come when they come: either can put a new
 * button in the place of the one that a hand is on, and the browser then forgets the press.
 *
 * A field or a list that is pressed holds the redraw of its part back until the hand is off and the list is closed. A
 * button is redrawn all the same, for what it does must be about the plate as it is now; the press then counts for the
 * one that stands in its place.
 */

/** What answers to a click. */
const CLICKED = "button, a[href], summary, label, input[type=checkbox], input[type=radio]";
/** What takes the focus, a caret, or opens a list, where it is pressed; and what is dragged in a list. */
const HELD = "input:not([type=checkbox], [type=radio], [type=button], [type=submit]), select, textarea, .chips";
/** A hand that has moved farther has changed its mind, px. */
const STILL = 8;
/** Browsers make a click of a tap some time after the finger is off, ms. */
const TAP = 1000;

/** `place`: how many of the same name come before it. @type {{element: Element, name: string, place: number, at: [number, number]}|null} */
let pressed = null;
/** The field that a hand is on. @type {Element|null} */
let field = null;
/** Redraws that wait, the newest of each part. @type {Map<Element, () => void>} */
const waiting = new Map();
let looking = false;

/** Whether a part of the page must not be redrawn now: a field in it is pressed, or a list hangs open. @param {Element} part */
export function heldStill(part) {
  return (field !== null && part.contains(field)) || hangsOpen(part);
}

/** Redraws a part as soon as it may be; of several redraws only the last is done. @param {Element} part @param {() => void} redraw */
export function redrawLater(part, redraw) {
  waiting.set(part, redraw);
  if (looking) return;
  looking = true;
  const look = () => {
    for (const [one, again] of waiting)
      if (!heldStill(one)) {
        waiting.delete(one);
        again();
      }
    looking = waiting.size > 0;
    if (looking) requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}

/** What was to be redrawn is drawn already. @param {Element} part */
export const redrawn = (part) => waiting.delete(part);

/** Whether the list of a choice is open; browsers that cannot tell say no. @param {Element} part */
function hangsOpen(part) {
  try {
    return part.querySelector("select:open") !== null;
  } catch {
    return false;
  }
}

/** What is the same from one drawing to the next: the name that keeps the focus, or what it says. @param {Element} element */
function nameOf(element) {
  const { keep, tool, item } = /** @type {HTMLElement} */ (element).dataset;
  const given = element.id || keep || tool || item;
  return `${element.tagName} ${given ?? `${element.getAttribute("aria-label") ?? ""} ${element.textContent}`}`;
}

/** @param {string} name */
const called = (name) => [...document.querySelectorAll(CLICKED)].filter((one) => nameOf(one) === name);

/** Hears every press of the page. */
export function watchPresses() {
  window.addEventListener("pointerdown", pressBegins, { capture: true });
  window.addEventListener("pointerup", pressEnds, { capture: true });
  window.addEventListener("pointercancel", () => ([pressed, field] = [null, null]), { capture: true });
  // A tap, too, ends so, and only then has it put the focus where it was.
  window.addEventListener(
    "mouseup",
    (event) => {
      setTimeout(() => (field = null));
      answer([event.clientX, event.clientY]);
    },
    { capture: true },
  );
  window.addEventListener("click", () => (pressed = null), { capture: true });
  window.addEventListener("keydown", (event) => event.key === " " && !event.repeat && begin(event.target, [0, 0]), { capture: true });
  window.addEventListener("input", (event) => (typed = event.target), { capture: true });
  window.addEventListener("keydown", (event) => event.key === "Tab" && left(event.target), { capture: true });
  window.addEventListener("keyup", (event) => event.key === " " && answer([0, 0]), { capture: true });
}

/** What was last typed in. @type {EventTarget|null} */
let typed = null;

/**
 * Tab out of a field takes what was typed before the focus goes: the redraw puts a new field in its place, with the focus,
 * and the browser goes on from there. Taken as it leaves, the place that it goes to would be redrawn under it.
 * @param {EventTarget|null} from
 */
function left(from) {
  if (from !== typed || !(from instanceof HTMLInputElement || from instanceof HTMLTextAreaElement)) return;
  typed = null;
  // What is never redrawn hears of its change from the browser, once.
  if (from.closest("#step-panel, #item-panel")) from.dispatchEvent(new Event("change", { bubbles: true }));
}

/** @param {EventTarget|null} target @param {[number, number]} at px */
function begin(target, at) {
  const element = target instanceof Element ? target.closest(CLICKED) : null;
  if (!element) return void (pressed = null);
  const name = nameOf(element);
  pressed = { element, name, place: called(name).indexOf(element), at };
}

/** @param {PointerEvent} event */
function pressBegins(event) {
  if (event.button || !event.isPrimary) return;
  field = event.target instanceof Element ? event.target.closest(HELD) : null;
  begin(event.target, [event.clientX, event.clientY]);
}

/** @param {PointerEvent} event */
function pressEnds(event) {
  // The focus, and the click, come after this: of a tap as if it were a mouse's, if it was one.
  if (event.isPrimary) setTimeout(() => (field = null), event.pointerType === "touch" ? TAP : 0);
}

/** The one in the place of what was pressed is clicked, unless the browser does it. @param {[number, number]} at px */
function answer(at) {
  const was = pressed;
  setTimeout(() => {
    if (!was || pressed !== was) return;
    pressed = null;
    if (was.element.isConnected || Math.hypot(at[0] - was.at[0], at[1] - was.at[1]) > STILL) return;
    const now = called(was.name)[was.place];
    if (now instanceof HTMLElement) now.click();
  });
}
