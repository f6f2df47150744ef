/**
 * The view: an immutable transform between the floor (mm, y to the rear) and the screen (px, y down).
 *
 * @typedef {Readonly<{scale: number, x: number, y: number}>} View  px per mm, and where the floor's origin stands, px.
 * @typedef {import("../types.js").Point} Point
 */

/** Nearer than a tenth of a mm to the pixel, or farther than 20 m across, nobody needs. */
export const SCALES = Object.freeze({ least: 0.05, most: 200 });

/** @param {number} scale @param {number} x @param {number} y @returns {View} */
export function makeView(scale, x, y) {
  return Object.freeze({ scale: Math.min(SCALES.most, Math.max(SCALES.least, scale)), x, y });
}

/** @param {View} view @param {Point} point mm @returns {Point} px */
export function toScreen(view, [x, y]) {
  return [view.x + view.scale * x, view.y - view.scale * y];
}

/** @param {View} view @param {Point} point px @returns {Point} mm */
export function toFloor(view, [x, y]) {
  return [(x - view.x) / view.scale, (view.y - y) / view.scale];
}

/** @param {View} view @param {number} dx px @param {number} dy px @returns {View} */
export function panned(view, dx, dy) {
  return makeView(view.scale, view.x + dx, view.y + dy);
}

/** Zooms about a point of the screen, which keeps its place. @param {View} view @param {number} factor @param {Point} about px @returns {View} */
export function zoomed(view, factor, about) {
  const scale = Math.min(SCALES.most, Math.max(SCALES.least, view.scale * factor));
  const k = scale / view.scale;
  return makeView(scale, about[0] + (view.x - about[0]) * k, about[1] + (view.y - about[1]) * k);
}

/**
 * The view that shows a box whole, in the middle.
 * @param {[number, number, number, number]} box left, front, right, rear, mm
 * @param {[number, number]} size px
 * @param {number} [margin] px
 * @returns {View}
 */
export function fitted(box, size, margin = 24) {
  const [left, front, right, rear] = box;
  const width = Math.max(right - left, 1);
  const depth = Math.max(rear - front, 1);
  const room = [Math.max(size[0] - 2 * margin, 40), Math.max(size[1] - 2 * margin, 40)];
  const wanted = makeView(Math.min(room[0] / width, room[1] / depth), 0, 0);
  return makeView(
    wanted.scale,
    size[0] / 2 - (wanted.scale * (left + right)) / 2,
    size[1] / 2 + (wanted.scale * (front + rear)) / 2,
  );
}

/** Moves the view just so far that a point is on the screen, `margin` px from its edge at least. @param {View} view @param {Point} point mm @param {[number, number]} size px @param {number} [margin] */
export function shown(view, point, size, margin = 80) {
  const [x, y] = toScreen(view, point);
  const m = Math.min(margin, size[0] / 3, size[1] / 3);
  const dx = x < m ? m - x : x > size[0] - m ? size[0] - m - x : 0;
  const dy = y < m ? m - y : y > size[1] - m ? size[1] - m - y : 0;
  return dx || dy ? panned(view, dx, dy) : view;
}

/** The transform of the drawing's own group, whose y runs down already. @param {View} view */
export function transformOf(view) {
  return `translate(${view.x} ${view.y}) scale(${view.scale})`;
}

/**
 * A round step for a ruler or a grid: 1, 2 or 5 times a power of ten (in inches: halves down to 1/16), at least
 * `least` px apart.
 * @param {number} scale px per mm @param {number} least px @param {import("../types.js").Unit} unit @returns {number} mm
 */
export function stepFor(scale, least, unit = "mm") {
  if (unit === "in") {
    for (const inches of [1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 2, 5, 10, 20, 50, 100]) {
      if (inches * 25.4 * scale >= least) return inches * 25.4;
    }
    return 200 * 25.4;
  }
  for (let power = -2; power < 5; power += 1) {
    for (const m of [1, 2, 5]) {
      const step = m * 10 ** power;
      if (step * scale >= least) return step;
    }
  }
  return 1e5;
}
