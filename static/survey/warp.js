/** A photo bent onto the floor, by its homography and its lens: in strips of triangles, each an affine picture of its part. Pure but for the canvas. */

/** Where a pixel lies on the floor. @param {number[][]} m the homography, pixels to mm @param {number} x @param {number} y @returns {[number, number]|null} null at or beyond the horizon */
export function mapped(m, x, y) {
  const w = m[2][0] * x + m[2][1] * y + m[2][2];
  if (!(w > 1e-9)) return null;
  return [(m[0][0] * x + m[0][1] * y + m[0][2]) / w, (m[1][0] * x + m[1][1] * y + m[1][2]) / w];
}

/** A homography turned so that the depth is positive at a pixel that is seen. @param {number[][]} m @param {number} x @param {number} y */
export function facing(m, x, y) {
  return m[2][0] * x + m[2][1] * y + m[2][2] < 0 ? m.map((row) => row.map((v) => -v)) : m;
}

/** The floor's part that the photo shows, clipped to what is of use. @param {number[][]} m @param {number} width @param {number} height @param {[number, number, number, number]} box mm @returns {[number, number, number, number]|null} left, front, right, rear */
export function shownBox(m, width, height, box) {
  const found = [];
  for (let i = 0; i <= 16; i += 1)
    for (let j = 0; j <= 16; j += 1) {
      const at = mapped(m, (width * i) / 16, (height * j) / 16);
      if (at) found.push(at);
    }
  if (!found.length) return null;
  const [xs, ys] = [found.map((p) => p[0]), found.map((p) => p[1])];
  const left = Math.max(box[0], Math.min(...xs));
  const front = Math.max(box[1], Math.min(...ys));
  const right = Math.min(box[2], Math.max(...xs));
  const rear = Math.min(box[3], Math.max(...ys));
  return right > left && rear > front ? [left, front, right, rear] : null;
}

/**
 * Where a place on the floor is in the photo, the lens's bend included: Brown and Conrady's k1 and k2 about the picture's
 * middle, counted in half diagonals. @param {import("../types.js").Lens} lens @param {[number, number]} seen a place on the floor that the photo shows, mm
 * @returns {(x: number, y: number) => [number, number]|null} null for what lies behind the camera
 */
export function pixelOf({ k1, k2, centre_px: centre, radius_px: radius, from_floor: given }, [sx, sy]) {
  const m = facing(given, sx, sy);
  return (x, y) => {
    const straight = mapped(m, x, y);
    if (!straight) return null;
    const [u, v] = straight;
    const square = u * u + v * v;
    const bent = 1 + k1 * square + k2 * square * square;
    return [centre[0] + u * bent * radius, centre[1] + v * bent * radius];
  };
}

/**
 * Draws the photo as seen from straight above. Every triangle of a fine mesh on the floor takes the affine map that fits
 * its corners; with cells of a few pixels the difference from the true map is far below a pixel.
 * @param {CanvasImageSource} image @param {(x: number, y: number) => [number, number]|null} pixel where a place on the floor is in the photo @param {[number, number]} size px of the photo @param {[number, number, number, number]} box mm @param {number} scale px on the canvas for a mm
 * @returns {HTMLCanvasElement}
 */
export function warp(image, pixel, [width, height], box, scale) {
  const canvas = document.createElement("canvas");
  canvas.width = Math.ceil((box[2] - box[0]) * scale);
  canvas.height = Math.ceil((box[3] - box[1]) * scale);
  const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  const cells = 40;
  // From a place on the canvas back to the photo's pixel.
  const source = (/** @type {number} */ u, /** @type {number} */ v) => pixel(box[0] + u / scale, box[3] - v / scale);
  const [du, dv] = [canvas.width / cells, canvas.height / cells];
  for (let i = 0; i < cells; i += 1)
    for (let j = 0; j < cells; j += 1) {
      const [u, v] = [i * du, j * dv];
      for (const corners of [
        [
          [u, v],
          [u + du, v],
          [u, v + dv],
        ],
        [
          [u + du, v + dv],
          [u, v + dv],
          [u + du, v],
        ],
      ]) {
        const pixels = corners.map(([a, b]) => source(a, b)).filter((p) => p !== null);
        const inside = pixels.some(([x, y]) => x > -width && x < 2 * width && y > -height && y < 2 * height);
        if (pixels.length === 3 && inside) triangle(context, image, pixels, corners);
      }
    }
  return canvas;
}

/** @param {CanvasRenderingContext2D} context @param {CanvasImageSource} image @param {number[][]} from photo @param {number[][]} to canvas */
function triangle(context, image, from, to) {
  const [[x0, y0], [x1, y1], [x2, y2]] = from;
  const [[u0, v0], [u1, v1], [u2, v2]] = to;
  const area = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0);
  if (Math.abs(area) < 1e-9) return;
  const a = ((u1 - u0) * (y2 - y0) - (u2 - u0) * (y1 - y0)) / area;
  const c = ((u2 - u0) * (x1 - x0) - (u1 - u0) * (x2 - x0)) / area;
  const b = ((v1 - v0) * (y2 - y0) - (v2 - v0) * (y1 - y0)) / area;
  const d = ((v2 - v0) * (x1 - x0) - (v1 - v0) * (x2 - x0)) / area;
  context.save();
  context.beginPath();
  // A little more than the triangle, so that no seams show.
  const [mu, mv] = [(u0 + u1 + u2) / 3, (v0 + v1 + v2) / 3];
  for (const [k, [u, v]] of to.entries()) {
    const away = Math.hypot(u - mu, v - mv);
    const [gu, gv] = [u + ((u - mu) / away) * 2.5, v + ((v - mv) / away) * 2.5];
    if (k) context.lineTo(gu, gv);
    else context.moveTo(gu, gv);
  }
  context.clip();
  context.transform(a, b, c, d, u0 - a * x0 - c * y0, v0 - b * x0 - d * y0);
  context.drawImage(image, 0, 0);
  context.restore();
}
