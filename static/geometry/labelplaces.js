/**
 * Where labels and signs go on the screen so that they cover neither what is drawn nor each other. Pure; all in px.
 *
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Box} Box  left, top, right, bottom
 * @typedef {{key: string, size: Point, places: Point[], rank: number, keep?: boolean, liked?: number, owner?: string}} Label
 *   places: middles of the box in order of liking; rank: the lowest is placed first; keep: never hidden; liked: the place
 *   that it had, which it keeps while it covers nothing there, -1 when it was left out; owner: the item whose own lines it
 *   may stand on
 * @typedef {{box: Box, weight: number, line?: boolean, round?: boolean, owner?: string}} Taken  weight: how bad it is to cover it, 1 for
 *   what must be seen; line: only a reason to stand elsewhere, never one to be left out; round: the disc in the box
 */

/** A label that would be covered by more than this share of itself is left out. */
const HIDDEN_FROM = 0.3;
/** What must be seen: ports, signs, words. A label that would cover more of it than this share of itself is left out. */
const MUST_BE_SEEN = 1;
const TOUCHES = 0.01;
/** How bad it is to cover another label. */
const OVER_WORDS = 5;
/** Words as near as this to others read as one word, px across and down: a reason to stand elsewhere. */
const [NEAR_ACROSS, NEAR_DOWN, NEAR_WORDS] = [6, 2, 0.5];

/** @param {Point} middle @param {Point} size @returns {Box} */
export const boxAbout = ([x, y], [w, h]) => [x - w / 2, y - h / 2, x + w / 2, y + h / 2];

/** The area that two boxes share. @param {Box} a @param {Box} b */
export function shared(a, b) {
  const across = Math.min(a[2], b[2]) - Math.max(a[0], b[0]);
  const down = Math.min(a[3], b[3]) - Math.max(a[1], b[1]);
  return across > 0 && down > 0 ? across * down : 0;
}

/** How much a label's box covers of something. @param {Box} box @param {Taken} one */
function covered(box, one) {
  const area = shared(box, one.box);
  if (!area || !one.round) return area;
  const [x, y, r] = [(one.box[0] + one.box[2]) / 2, (one.box[1] + one.box[3]) / 2, (one.box[2] - one.box[0]) / 2];
  const away = Math.hypot(Math.max(box[0] - x, 0, x - box[2]), Math.max(box[1] - y, 0, y - box[3]));
  return away < r ? area : 0;
}

/**
 * The middle of each label's box, or null for one that finds no room.
 * @param {Label[]} labels @param {Taken[]} taken what is drawn already @returns {Map<string, Point|null>}
 */
export function placeLabels(labels, taken) {
  /** @type {Map<string, Point|null>} */
  const found = new Map();
  /** @type {Map<number, Taken[]>} */
  const busy = new Map();
  taken.forEach((one) => occupy(busy, one));
  for (const label of labels.toSorted((a, b) => a.rank - b.rank)) {
    const left = label.liked === -1 && !label.keep;
    const place = left ? null : bestPlace(label, near(busy, roomOf(label)));
    found.set(label.key, place);
    // Words over words cannot be read: that is worse than words over a line.
    if (!place) continue;
    occupy(busy, { box: boxAbout(place, label.size), weight: OVER_WORDS });
    const [w, h] = label.size;
    occupy(busy, { box: boxAbout(place, [w + 2 * NEAR_ACROSS, h + 2 * NEAR_DOWN]), weight: NEAR_WORDS, line: true });
  }
  return found;
}

/** @param {Label} label @param {Taken[]} others what lies about its places @returns {Point|null} */
function bestPlace({ size, places, keep, liked, owner }, others) {
  const area = size[0] * size[1];
  /** @param {Point} place */
  const judged = (place) => {
    const box = boxAbout(place, size);
    let [cost, crossed, hides] = [0, 0, 0];
    for (const one of others) {
      if (owner && one.owner === owner) continue;
      const over = covered(box, one);
      cost += one.weight * over;
      if (one.line) crossed += one.weight * over;
      if (one.weight >= MUST_BE_SEEN) hides += over;
    }
    return { place, cost, room: cost - crossed < HIDDEN_FROM * area && hides <= TOUCHES * area };
  };
  const old = liked === undefined || !places[liked] ? null : judged(places[liked]);
  if (old?.room) return old.place;
  let best = null;
  for (const place of places) {
    const one = judged(place);
    // A place without room is none, however few lines cross it.
    if (!best || (one.room && !best.room) || (one.room === best.room && one.cost < best.cost - 1e-6)) best = one;
    if (one.cost === 0) break;
  }
  return best && (keep || best.room) ? best.place : null;
}

/** The drawing in squares, so that a label is held only to what lies about it, px. */
const SQUARE = 80;
/** What reaches over more squares than these is asked for by every label. */
const WIDE = 40;

/** More squares to a row than any window has. */
const ROW = 65536;
const ANYWHERE = NaN;

/** @param {Box} box @returns {number[]} its squares; none when they would be too many */
function squares([left, top, right, bottom]) {
  const [i0, i1, j0, j1] = [left, right, top, bottom].map((at) => Math.floor(at / SQUARE));
  if (!((i1 - i0 + 1) * (j1 - j0 + 1) <= WIDE)) return [];
  const found = [];
  for (let i = i0; i <= i1; i += 1) for (let j = j0; j <= j1; j += 1) found.push(i * ROW + j);
  return found;
}

/** @param {Map<number, Taken[]>} busy @param {Taken} one */
function occupy(busy, one) {
  const names = squares(one.box);
  for (const name of names.length ? names : [ANYWHERE]) {
    const same = busy.get(name);
    if (same) same.push(one);
    else busy.set(name, [one]);
  }
}

/** What shares some area with a box. @param {Map<number, Taken[]>} busy @param {Box} box @returns {Taken[]} */
function near(busy, box) {
  const names = squares(box);
  /** @type {Set<Taken>} */
  const found = new Set();
  for (const name of names.length ? [...names, ANYWHERE] : busy.keys())
    for (const one of busy.get(name) ?? []) if (shared(box, one.box) > 0) found.add(one);
  return [...found];
}

/** Around all places that a label may have. @param {Label} label @returns {Box} */
function roomOf({ places, size: [w, h] }) {
  const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
  return [Math.min(...xs) - w / 2, Math.min(...ys) - h / 2, Math.max(...xs) + w / 2, Math.max(...ys) + h / 2];
}

/** Places outside of a box, in the middle of its sides and at its corners. @param {Box} box @param {Point} size @returns {Point[]} */
export function beside([left, top, right, bottom], [w, h]) {
  const [x, y] = [(left + right) / 2, (top + bottom) / 2];
  const [west, east, north, south] = [left - w / 2 - 2, right + w / 2 + 2, top - h / 2 - 1, bottom + h / 2 + 1];
  return [
    [x, north],
    [x, south],
    [east, y],
    [west, y],
    [east, north],
    [west, north],
    [east, south],
    [west, south],
  ];
}

/** The legs of a course shorter than this have no label of it, px. */
const SHORT_LEG = 18;

/**
 * Places on and along a course, its longest leg first: a label must be seen to belong to it.
 * @param {Point[]} corners @param {number} half half the course's width @param {Point} size @returns {Point[]}
 */
export function alongCourse(corners, half, [w, h]) {
  const legs = corners
    .slice(1)
    .map((b, i) => ({ a: corners[i], b, long: Math.hypot(b[0] - corners[i][0], b[1] - corners[i][1]) }))
    .filter(({ long }) => long >= SHORT_LEG)
    .sort((p, q) => q.long - p.long);
  return legs.flatMap(({ a, b, long }) => {
    const [nx, ny] = [-(b[1] - a[1]) / long, (b[0] - a[0]) / long];
    // How far the box reaches from its middle across the leg.
    const off = half + 2 + (Math.abs(nx) * w + Math.abs(ny) * h) / 2;
    return [0.5, 0.3, 0.7].flatMap((share) =>
      [off, -off].map(
        (side) => /** @type {Point} */ ([a[0] + share * (b[0] - a[0]) + side * nx, a[1] + share * (b[1] - a[1]) + side * ny]),
      ),
    );
  });
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
    // A little further off, where signs or others have the places at hand.
    ...Array.from({ length: 12 }, (_, k) => {
      const [dx, dy] = [Math.cos((k * Math.PI) / 6), Math.sin((k * Math.PI) / 6)];
      return /** @type {Point} */ ([x + dx * (radius + w / 2 + 9), y + dy * (radius + h / 2 + 9)]);
    }),
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
  // The last stand beside a port that fills much of the window.
  ...[42, 56, 72, 100, 140, 200, 280].flatMap((r) =>
    Array.from({ length: 12 }, (_, k) => /** @type {Point} */ ([r * Math.cos((k * Math.PI) / 6), r * Math.sin((k * Math.PI) / 6)])),
  ),
];
/** @type {Point} */
const SIGN_SIZE = [20, 20];
/** With the number of its findings, which stands at its upper right; and how far the middle of both is off the sign's. @type {{size: Point, off: Point}} */
const COUNTED = { size: [28, 27], off: [3.5, -3] };

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

/** Where signs of findings stand beside their places: not on ports, not on each other. @param {Point[]} places px, the weightiest first @param {Taken[]} taken @param {boolean[]} [counted] which have a number @returns {Point[]} offsets from each place */
export function signOffsets(places, taken, counted = []) {
  const [offX, offY] = COUNTED.off;
  const off = (/** @type {number} */ i) => (counted[i] ? [offX, offY] : [0, 0]);
  const labels = places.map(([x, y], i) => ({
    key: String(i),
    size: counted[i] ? COUNTED.size : SIGN_SIZE,
    places: SIGN_OFFSETS.map(([dx, dy]) => /** @type {Point} */ ([x + dx + off(i)[0], y + dy + off(i)[1]])),
    rank: i,
    keep: true,
  }));
  const found = placeLabels(labels, taken);
  return places.map(([x, y], i) => {
    const place = found.get(String(i)) ?? [x, y];
    return [place[0] - x - off(i)[0], place[1] - y - off(i)[1]];
  });
}
