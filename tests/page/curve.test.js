import { close, equal, ok, test } from "./harness.js";
import { conductance, line, monotone, ordered, parabola } from "/static/model/curve.js";

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

// 600 W into coolant 15 K warmer than the air: 40 W/K.
test("what a radiator gives off per kelvin", () => {
  close(conductance(600, 40, 25), 40);
  equal([conductance(600, 25, 25), conductance(0, 40, 25)], [null, null]);
});
