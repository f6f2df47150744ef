/** The signs of the levels, and labels on the drawing. */

import { s } from "../dom.js";

/** @typedef {import("../types.js").Point} Point */

/** The sign of each level: a shape and a letter beside the colour. */
/** @type {Readonly<Record<string, {d: string, letter: string}>>} */
export const SIGNS = Object.freeze({
  error: { d: "M-5 -8H5L8 -5V5L5 8H-5L-8 5V-5Z", letter: "!" },
  warning: { d: "M0 -9L9 7H-9Z", letter: "?" },
  note: { d: "M0 -7A7 7 0 1 1 0 7A7 7 0 1 1 0 -7Z", letter: "i" },
});

/** @param {"error"|"warning"|"note"} level @param {string} [title] */
export function sign(level, title) {
  return s(
    `svg.sign.${level}`,
    {
      viewBox: "-10 -10 20 20",
      width: 20,
      height: 20,
      "aria-hidden": title ? null : "true",
      role: title ? "img" : null,
      "aria-label": title ?? null,
    },
    s("path", { d: SIGNS[level].d }),
    s("text", { x: 0, y: level === "warning" ? 5 : 4, "text-anchor": "middle" }, SIGNS[level].letter),
  );
}

/** @param {string} words @param {Point} at @param {string} [more] */
export function label(words, [x, y], more = "") {
  const width = words.length * 7 + 12;
  return s(
    `g.over-label${more ? `.${more}` : ""}`,
    { transform: `translate(${x} ${y})` },
    s("rect", { x: -width / 2, y: -10, width, height: 20, rx: 3 }),
    s("text", { y: 4, "text-anchor": "middle" }, words),
  );
}
