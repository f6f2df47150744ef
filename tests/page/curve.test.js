import { close, equal, ok, test } from "./harness.js";
import { conductance, line, monotone, ordered, parabola, remarks, rising } from "/static/model/curve.js";

test("points come in the order of their flows, equal ones as their mean", () => {
  equal(ordered([[3, 6], [1, 1], [3, 8]]), [[1, 1], [3, 7]]);
});

test("a square law through one point, and a power law met exactly between two", () => {
  for (const [q, p] of line([[2, 4]], false)) close(p, q * q, 1e-9);
  // p = 0.7 q^1.8 is a straight line in the logarithms, so any two of its points give all of it.
  const law = (q) => 0.7 * q ** 1.8;
  for (const [q, p] of line([[1, law(1)], [6, law(6)]], false).filter(([q]) => q >= 1)) close(p, law(q), 1e-9);
});

test("a curve never wiggles: it stays between neighbouring points", () => {
  const points = [[0, 40], [3, 39.5], [6, 20], [9, 19.5], [12, 0]];
  const curve = monotone(points);
  for (let x = 0; x <= 12; x += 0.05) {
    const i = Math.min(points.findLastIndex(([at]) => at <= x), points.length - 2);
    ok(curve(x) <= points[i][1] + 1e-9 && curve(x) >= points[i + 1][1] - 1e-9, `${x}`);
  }
});

// By hand: head · (1 − (q / q_max)²), so three quarters of the head at half the flow.
test("a pump from two figures is a parabola", () => {
  const points = parabola(40, 10, 3);
  equal(points, [[0, 40], [5, 30], [10, 0]]);
  equal(line([], true), []);
});

// Three quarters of the head at half the flow, by hand; the same for one point by the convention of EPANET 2.2's manual.
test("a pump's two ends, or one point, are a parabola, and it is said", () => {
  const at = (points, flow) => line(points, true, 41).find(([q]) => Math.abs(q - flow) < 1e-9)[1];
  close(at([[0, 40], [10, 0]], 5), 30, 1e-9);
  close(at([[5, 30]], 5), 30, 1e-9);
  ok(remarks([[0, 40], [10, 0]], true)[0].includes("parabola") && remarks([[5, 30]], true)[0].includes("parabola"));
  equal([remarks([], true), remarks([[0, 40], [5, 30], [10, 0]], true)], [[], []]);
});

// The pools of 1, 4, 2, 3 by hand: 4, 2 and 3 fall and are 3 together.
test("points that fall or come twice are drawn as they count, and it is said", () => {
  equal(rising([1, 4, 2, 3]), [1, 3, 3, 3]);
  const falling = [[1, 1], [2, 4], [3, 2], [4, 3]];
  for (const [q, p] of line(falling, false)) ok(q < 2 || Math.abs(p - 3) < 1e-9, `${q} ${p}`);
  ok(remarks(falling, false)[0].includes("falls at 3 l/min"));
  ok(remarks([[2, 1], [2, 3], [4, 6]], false, "gpm")[0].includes("Several points at 2 gpm"));
  equal(remarks([[0, 0], [2, 1], [4, 4]], false), []);
  equal([[[0, 1], [2, 2], [3, 3]], [[1, 0], [2, 2], [3, 3]]].map((one) => remarks(one, false).length), [1, 1]);
  // A pump that climbs first is flat up to its top.
  close(line([[0, 30], [4, 40], [8, 0]], true, 9)[2][1], 40, 1e-9);
  ok(remarks([[0, 30], [4, 40], [8, 0]], true)[0].includes("climbs up to 4"));
});

// 600 W into coolant 15 K warmer than the air: 40 W/K.
test("what a radiator gives off per kelvin", () => {
  close(conductance(600, 40, 25), 40);
  equal([conductance(600, 25, 25), conductance(0, 40, 25)], [null, null]);
});
