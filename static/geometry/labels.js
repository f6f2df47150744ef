/**
 * Where labels and signs go on the screen so that they cover neither what is drawn nor each other. Pure; all in px.
 *
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Box} Box  left, top, right, bottom
 * @typedef {{key: string, size: Point, places: Point[], rank: number, keep?: boolean}} Label
 *   places: middles of the box in order of liking; rank: the lowest is placed first; keep: never hidden
 * @typedef {{box: Box, weight: number}} Taken  weight: how bad it is to cover it, 1 for what must be seen
 */

/** A label that would be covered by more than this share of itself is left out. */
const HIDDEN_FROM = 0.3;
/** How bad it is to cover another label. */
const OVER_WORDS = 5;

/** @param {Point} middle @param {Point} size @returns {Box} */
export const boxAbout = ([x, y], [w, h]) => [x - w / 2, y - h / 2, x + w / 2, y + h / 2];

/** The area that two boxes share. @param {Box} a @param {Box} b */
export function shared(a, b) {
  const across = Math.min(a[2], b[2]) - Math.max(a[0], b[0]);
  const down = Math.min(a[3], b[3]) - Math.max(a[1], b[1]);
  return across > 0 && down > 0 ? across * down : 0;
}

/**
 * The middle of each label's box, or null for one that finds no room.
 * @param {Label[]} labels @param {Taken[]} taken what is drawn already @returns {Map<string, Point|null>}
 */
export function placeLabels(labels, taken) {
  /** @type {Map<string, Point|null>} */
  const found = new Map();
  const busy = [...taken];
  for (const label of labels.toSorted((a, b) => a.rank - b.rank)) {
    const area = label.size[0] * label.size[1];
    /** @type {{place: Point, cost: number}|null} */
    let best = null;
    for (const place of label.places) {
      const box = boxAbout(place, label.size);
      const cost = busy.reduce((sum, one) => sum + one.weight * shared(box, one.box), 0);
      if (!best || cost < best.cost - 1e-6) best = { place, cost };
      if (cost === 0) break;
    }
    const place = best && (label.keep || best.cost < HIDDEN_FROM * area) ? best.place : null;
    found.set(label.key, place);
    // Words over words cannot be read: that is worse than words over a line.
    if (place) busy.push({ box: boxAbout(place, label.size), weight: OVER_WORDS });
  }
  return found;
}

/** Places around a disc, the one to the upper right first. @param {Point} at @param {number} radius @param {Point} size @returns {Point[]} */
export function around([x, y], radius, [w, h]) {
  const slant = radius * Math.SQRT1_2;
  return [
    [x + slant + w / 2, y - slant - h / 2 + 3],
    [x - slant - w / 2, y - slant - h / 2 + 3],
    [x + slant + w / 2, y + slant + h / 2 - 3],
    [x - slant - w / 2, y + slant + h / 2 - 3],
    [x, y - radius - h / 2 - 1],
    [x, y + radius + h / 2 + 1],
    [x + radius + w / 2 + 2, y],
    [x - radius - w / 2 - 2, y],
  ];
}

/** Places in and about the middle of something. @param {Point} at @param {Point} size @returns {Point[]} */
export const about = ([x, y], [w, h]) =>
  [
    [0, 0],
    [0, -1],
    [0, 1],
    [0, -2],
    [0, 2],
    [1, 0],
    [-1, 0],
    [1, -1],
    [-1, 1],
  ].map(([i, j]) => [x + i * (w + 4), y + j * (h + 2)]);

/** How far off its place a sign stands, px, in order of liking. @type {Point[]} */
const SIGN_OFFSETS = [
  [-14, -20],
  [14, -20],
  [-14, 20],
  [14, 20],
  [-26, 0],
  [26, 0],
  [0, -28],
  [0, 28],
  [-34, -30],
  [34, -30],
  [-34, 30],
  [34, 30],
  [-48, 0],
  [48, 0],
];
/** @type {Point} */
const SIGN_SIZE = [20, 20];

/** Places nearer than this on the screen have one sign, px. */
const ONE_SIGN = 22;

/** Places that would have signs over each other, together: indices, those of the first before all. @param {Point[]} places px, the weightiest first @returns {number[][]} */
export function clusters(places) {
  /** @type {number[][]} */
  const found = [];
  places.forEach(([x, y], i) => {
    const near = found.find(([first]) => Math.hypot(places[first][0] - x, places[first][1] - y) < ONE_SIGN);
    if (near) near.push(i);
    else found.push([i]);
  });
  return found;
}

/** Where signs of findings stand beside their places: not on ports, not on each other. @param {Point[]} places px, the weightiest first @param {Taken[]} taken @returns {Point[]} offsets from each place */
export function signOffsets(places, taken) {
  const labels = places.map(([x, y], i) => ({
    key: String(i),
    size: SIGN_SIZE,
    places: SIGN_OFFSETS.map(([dx, dy]) => /** @type {Point} */ ([x + dx, y + dy])),
    rank: i,
    keep: true,
  }));
  const found = placeLabels(labels, taken);
  return places.map(([x, y], i) => {
    const place = found.get(String(i)) ?? [x, y];
    return [place[0] - x, place[1] - y];
  });
}
