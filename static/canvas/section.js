/** The section: the plate cut along a line, under the plan, as large as it is read best. */

import { adopted, h, refill } from "../dom.js";
import { button } from "../panels/form.js";

/** How large it is drawn at first, px per mm, and by how much a press of + enlarges it. */
const FIRST = 4;
const STEP = 1.5;

/** @param {{store: any, root: HTMLElement}} parts */
export function createSection({ store, root }) {
  let scale = FIRST;

  function draw() {
    const { section, sectionLine } = store.get();
    root.hidden = sectionLine?.length !== 2 || !section;
    if (root.hidden) return;
    refill(
      root,
      h(
        "header.section-head",
        {},
        h("h3", {}, "Section A–B"),
        h("span.quiet", {}, "Heights in mm from the plate's underside"),
        h(
          "div.strip-tools",
          {},
          button("−", () => zoom(1 / STEP), { "aria-label": "Section smaller", "data-keep": "section-out" }),
          button("+", () => zoom(STEP), { "aria-label": "Section larger", "data-keep": "section-in" }),
          button("Put away", () => store.set({ sectionLine: null, section: null }), { "data-keep": "section-away" }),
        ),
      ),
      section.reason
        ? h("p.problem", {}, section.reason)
        : h("div.section-scroll", { tabindex: "0", role: "group", "aria-label": "Section, drawn" }, drawn(section.svg)),
    );
  }

  /** @param {string} text */
  function drawn(text) {
    const svg = /** @type {any} */ (adopted(text));
    const box = svg.getAttribute?.("viewBox")?.split(" ").map(Number);
    if (!box) return svg;
    svg.setAttribute("width", String(box[2] * scale));
    svg.setAttribute("height", String(box[3] * scale));
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", "The plate cut along the line from A to B");
    svg.style.setProperty("--u", String(1 / scale));
    return svg;
  }

  /** @param {number} by */
  function zoom(by) {
    scale = Math.min(30, Math.max(0.5, scale * by));
    draw();
  }

  store.watch(["section", "sectionLine"], draw);
  return { draw };
}
