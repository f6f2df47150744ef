import { close, equal, ok, test } from "./harness.js";
import { about, around, boxAbout, clusters, placeLabels, shared, signOffsets } from "/static/geometry/labelplaces.js";

/** The same numbers at every run. */
const random = (seed) => () => {
  seed = (seed * 16807) % 2147483647;
  return seed / 2147483647;
};

test("the area that boxes share", () => {
  equal(shared([0, 0, 10, 10], [6, 7, 20, 20]), 12);
  equal(shared([0, 0, 10, 10], [10, 0, 20, 10]), 0);
});

test("a label goes where nothing is, the weightiest first", () => {
  const size = [20, 14];
  const places = [[0, 0], [30, 0], [60, 0]];
  const found = placeLabels(
    [
      { key: "late", size, places, rank: 2 },
      { key: "early", size, places, rank: 1 },
    ],
    [{ box: boxAbout([0, 0], size), weight: 1 }],
  );
  equal([found.get("early"), found.get("late")], [[30, 0], [60, 0]]);
});

test("without room a label is left out, unless it must be seen", () => {
  const label = { key: "a", size: [20, 14], places: [[0, 0]], rank: 0 };
  const taken = [{ box: [-50, -50, 50, 50], weight: 1 }];
  equal(placeLabels([label], taken).get("a"), null);
  equal(placeLabels([{ ...label, keep: true }], taken).get("a"), [0, 0]);
});

test("a line moves a label, and never leaves one out", () => {
  const size = [20, 14];
  const line = { box: [-50, -1, 50, 1], weight: 0.9, line: true };
  equal(placeLabels([{ key: "a", size, places: [[0, 0], [0, 20]], rank: 0 }], [line]).get("a"), [0, 20]);
  equal(placeLabels([{ key: "a", size, places: [[0, 0]], rank: 0 }], [line, line]).get("a"), [0, 0]);
  // Across a line is better than over a port, however many lines.
  const port = { box: boxAbout([0, 20], [12, 12]), weight: 1, round: true };
  equal(placeLabels([{ key: "a", size, places: [[0, 20], [0, 0]], rank: 0 }], [line, line, port]).get("a"), [0, 0]);
});

test("words do not stand so near to others that they read as one, where there is room elsewhere", () => {
  const size = [20, 14];
  const first = { key: "first", size, places: [[0, 0]], rank: 0 };
  // 4 px beside it, or well below.
  const second = { key: "second", size, places: [[24, 0], [0, 60]], rank: 1 };
  equal(placeLabels([first, second], []).get("second"), [0, 60]);
  equal(placeLabels([first, { ...second, places: [[24, 0]] }], []).get("second"), [24, 0]);
});

test("a value stands on its own dimension line, an id beside it", () => {
  const line = { box: [-50, -1, 50, 1], weight: 0.4, line: true, owner: "Q1" };
  const label = { key: "a", size: [20, 14], places: [[0, 0], [0, 20]], rank: 0 };
  equal(placeLabels([{ ...label, owner: "Q1" }], [line]).get("a"), [0, 0]);
  equal(placeLabels([label], [line]).get("a"), [0, 20]);
});

test("a disc's box is empty in its corners", () => {
  const port = { box: boxAbout([0, 0], [20, 20]), weight: 1, round: true };
  // The label's corner is 8 mm off in x and in y: 11.3 from the middle, by Pythagoras, of a disc of 10.
  const at = [8 + 10, 8 + 7];
  const only = [{ key: "a", size: [20, 14], places: [at], rank: 0 }];
  equal(placeLabels(only, [port]).get("a"), at);
  equal(placeLabels(only, [{ ...port, round: false }]).get("a"), null);
});

test("a label keeps its place while it covers nothing there, and one that was left out stays out", () => {
  const one = { key: "a", size: [20, 14], places: [[0, 0], [30, 0], [60, 0]], rank: 0 };
  equal(placeLabels([{ ...one, liked: 2 }], []).get("a"), [60, 0]);
  equal(placeLabels([{ ...one, liked: 2 }], [{ box: boxAbout([60, 0], [9, 9]), weight: 1 }]).get("a"), [0, 0]);
  equal(placeLabels([{ ...one, liked: -1 }], []).get("a"), null);
  equal(placeLabels([{ ...one, liked: -1, keep: true }], []).get("a"), [0, 0]);
});

test("the same places are found whichever way it is asked what lies near", () => {
  const next = random(23);
  const taken = Array.from({ length: 400 }, () => ({ box: boxAbout([next() * 900, next() * 900], [4 + next() * 300, 4 + next() * 60]), weight: next() > 0.7 ? 1 : 0.3 }));
  const labels = Array.from({ length: 120 }, (_, i) => {
    const size = [20 + next() * 300, 14];
    return { key: String(i), size, places: around([next() * 900, next() * 900], 8, size), rank: i };
  });
  const found = placeLabels(labels, taken);
  // The second way: every label against everything.
  const busy = taken.filter(({ weight }) => weight === 1).map(({ box }) => box);
  for (const { key, size } of labels) {
    const place = found.get(key);
    if (!place) continue;
    const box = boxAbout(place, size);
    ok(busy.reduce((sum, one) => sum + shared(one, box), 0) <= 0.01 * size[0] * size[1] + 1e-6);
    busy.push(box);
  }
});

test("of a hundred ports with room about them no label covers a port or another label", () => {
  const next = random(7);
  const ports = Array.from({ length: 100 }, (_, i) => [60 + (i % 10) * 120 + next() * 40, 60 + Math.floor(i / 10) * 90 + next() * 30]);
  const taken = ports.map((at) => ({ box: boxAbout(at, [24, 24]), weight: 1 }));
  const size = [30, 14];
  const found = placeLabels(ports.map((at, i) => ({ key: String(i), size, places: around(at, 12, size), rank: i })), taken);
  const boxes = [...found.values()].map((place) => boxAbout(place, size));
  ok(boxes.every((a, i) => boxes.every((b, j) => i === j || shared(a, b) === 0)));
  // A label's corner may touch the square about its own disc, for the disc is round.
  ok(boxes.every((a) => taken.filter(({ box }) => shared(a, box) > 30).length === 0));
});

test("signs of findings in one place stand apart", () => {
  const places = Array.from({ length: 6 }, () => [100, 100]);
  const boxes = signOffsets(places, [{ box: boxAbout([100, 100], [20, 20]), weight: 1 }]).map(([dx, dy]) =>
    boxAbout([100 + dx, 100 + dy], [20, 20]),
  );
  ok(boxes.every((a, i) => boxes.every((b, j) => i === j || shared(a, b) === 0)));
  close(signOffsets([[0, 0]], [])[0][0], -14);
  equal(about([5, 5], [10, 10])[0], [5, 5]);
});

test("places whose signs would lie over each other have one sign; every place has one", () => {
  equal(clusters([[0, 0], [10, 0], [100, 0], [105, 5], [30, 0]]), [[0, 1], [2, 3], [4]]);
  const next = random(11);
  const places = Array.from({ length: 300 }, () => [next() * 400, next() * 400]);
  const found = clusters(places);
  equal(found.flat().toSorted((a, b) => a - b), places.map((_, i) => i));
  // The second way: no two signs are nearer than a sign is wide, and nothing is farther from its sign than that.
  const far = ([a, b], [c, d]) => Math.hypot(a - c, b - d);
  ok(found.every(([i], n) => found.every(([j], m) => n === m || far(places[i], places[j]) >= 22)));
  ok(found.every(([first, ...others]) => others.every((i) => far(places[first], places[i]) < 22)));
});
