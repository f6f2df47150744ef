import { close, equal, ok, random, test } from "./harness.js";
import { plate } from "./plate.js";
import { hardwareSnaps } from "/static/server/answer.js";
import { free, snap, targetsOf } from "/static/geometry/snap.js";

const none = { spots: [], edges: [], grid: null };

test("centres come before everything else", () => {
  const found = snap([101.5, 99], targetsOf(plate()), { reach: 3 });
  equal([found.point, found.kind], [[100, 100], "centre"]);
});

test("what is being dragged is not snapped to", () => {
  const found = snap([101.5, 99], targetsOf(plate(), [], { grid: false }), {
    reach: 1,
    without: new Set(["P1", "D1", "C1"]),
  });
  ok(found.kind !== "centre");
});

// 20.32 mm is 0.8 in exactly; a slot on a board must not come to rest on 20.3.
test("an inch grid stays exact", () => {
  const grid = { ...none, grid: { pitch: 20.32, x: 0, y: 0 } };
  equal(snap([101, 61.5], grid, { reach: 4 }).point, [101.6, 60.96]);
  const [slot] = hardwareSnaps({
    places: [
      { kind: "slot", x_mm: 67.945, y_mm: 10, label: "slot 2 of MB" },
      { kind: "centre", x_mm: 1, y_mm: 1, label: "centre of P1" },
    ],
  });
  equal(snap([68, 10.4], { ...none, spots: [slot] }, { reach: 2 }).point, [67.945, 10]);
});

test("45° and square to where it came from", () => {
  const diagonal = snap([31, 29.4], none, { reach: 3, from: [0, 0] });
  equal([diagonal.kind, diagonal.point[0]], ["45°", diagonal.point[1]]);
  const square = snap([50.04, 1], none, { reach: 3, from: [0, 0] });
  equal([square.kind, square.point], ["square", [50, 0]]);
});

test("in line with two centres at once", () => {
  const spots = [
    { point: [100, 10], kind: "centre", label: "", owner: "A" },
    { point: [10, 60], kind: "centre", label: "", owner: "B" },
  ];
  const found = snap([101, 61], { ...none, spots }, { reach: 3 });
  equal([found.point, found.label], [[100, 60], "in line with A and B"]);
});

test("edges and midpoints", () => {
  const targets = targetsOf(plate(), [], { grid: false });
  const edge = snap([120.7, 51], targets, { reach: 2 });
  equal([edge.kind, edge.point], ["edge", [120.7, 50]]);
  equal(snap([199, 51], targets, { reach: 2 }).kind, "midpoint");
});

test("a snapped place is always within reach, a free one on tenths", () => {
  const next = random(4);
  const targets = targetsOf(plate());
  for (let i = 0; i < 500; i += 1) {
    const p = [400 * next(), 300 * next()];
    const found = snap(p, targets, { reach: 4, from: [200, 150] });
    ok(Math.hypot(found.point[0] - p[0], found.point[1] - p[1]) <= 4 * Math.SQRT2 + 2.6, `${p} went to ${found.point}`);
  }
  equal(free([10.04, 3.26]).point, [10, 3.3]);
  close(free([0.3, 0]).point[0], 0.3);
});
