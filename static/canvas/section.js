/** The section: the plate cut along a line, under the plan, as large as it is read best. */

import { sentence } from "../server/api.js";
import { adopted, h, refill } from "../dom.js";
import { button } from "../panels/form.js";

/** How large it is drawn at first, px per mm, and by how much a press of + enlarges it. */
const FIRST = 4;
const STEP = 1.5;

/** @param {{store: import("../types.js").Store, api: import("../types.js").Api, root: HTMLElement}} parts */
export function createSection({ store, api, root }) {
  let scale = FIRST;

  async function cut() {
    const { sectionLine, document } = store.get();
    if (!document || sectionLine?.length !== 2) return;
    /** @type {import("../types.js").SectionAnswer} */
    let section;
    try {
      section = await api.section(document, sectionLine);
    } catch (error) {
      section = { reason: sentence(error) };
    }
    if (store.get().sectionLine === sectionLine) store.set({ section });
  }

  function draw() {
    const { section, sectionLine } = store.get();
    root.hidden = sectionLine?.length !== 2 || !section;
    if (!section || root.hidden) return;
    refill(
      root,
      h(
        "header.section-head",
        {},
        h("h3", {}, "Section X–X′"),
        h("span.quiet", {}, "Heights in mm from the plate's underside"),
        h(
          "div.strip-tools",
          {},
          button("−", () => zoom(1 / STEP), { "aria-label": "Zoom out of the section", "data-keep": "section-out" }),
          button("+", () => zoom(STEP), { "aria-label": "Zoom into the section", "data-keep": "section-in" }),
          button("Close", () => store.set({ sectionLine: null, section: null }), { "data-keep": "section-away" }),
        ),
      ),
      !section.svg
        ? h("p.problem", {}, section.reason ?? "")
        : h(
            "div.section-scroll",
            { tabindex: "0", role: "group", "aria-label": "Section, drawn" },
            drawn(section.svg, scale),
          ),
    );
  }

  /** @param {number} by */
  function zoom(by) {
    scale = Math.min(30, Math.max(0.5, scale * by));
    draw();
  }

  store.watch(["sectionLine", "document"], () => void cut());
  store.watch(["section", "sectionLine"], draw);
  return { draw };
}

/** The section as an element, so large. @param {string} text @param {number} scale px per mm */
function drawn(text, scale) {
  const svg = adopted(text);
  if (!(svg instanceof SVGElement)) return svg;
  const box = svg.getAttribute("viewBox")?.split(" ").map(Number) ?? [0, 0, 0, 0];
  svg.setAttribute("width", String(box[2] * scale));
  svg.setAttribute("height", String(box[3] * scale));
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", "The plate cut along the line from X to X′");
  svg.style.setProperty("--u", String(1 / scale));
  return svg;
}
