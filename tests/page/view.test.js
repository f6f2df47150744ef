import { close, equal, ok, random, test } from "./harness.js";
import { fitted, makeView, panned, shown, stepFor, toFloor, toScreen, transformOf, zoomed } from "/static/geometry/view.js";

test("to the screen and back, with y turned over", () => {
  const view = makeView(2, 10, 500);
  equal(toScreen(view, [100, 50]), [210, 400]);
  const next = random(1);
  for (let i = 0; i < 200; i += 1) {
    const v = makeView(0.1 + 20 * next(), 1000 * next() - 500, 1000 * next() - 500);
    const p = [400 * next(), 300 * next()];
    const q = toFloor(v, toScreen(v, p));
    close(q[0], p[0], 1e-6);
    close(q[1], p[1], 1e-6);
  }
});

test("zooming keeps the place under the pointer, within its bounds", () => {
  const next = random(2);
  for (let i = 0; i < 200; i += 1) {
    const v = makeView(0.2 + 5 * next(), 300 * next(), 600 * next());
    const about = [800 * next(), 600 * next()];
    const before = toFloor(v, about);
    const after = toFloor(zoomed(v, 0.01 + 100 * next(), about), about);
    close(after[0], before[0], 1e-6);
    close(after[1], before[1], 1e-6);
  }
  equal(zoomed(makeView(1, 0, 0), 1e9, [0, 0]).scale, 200);
});

test("views are never changed in place", () => {
  const view = makeView(1, 0, 0);
  ok(Object.isFrozen(view));
  ok(panned(view, 3, 4) !== view);
  equal(view, { scale: 1, x: 0, y: 0 });
});

test("fitting shows all of a box", () => {
  const view = fitted([0, 0, 480, 400], [800, 600], 20);
  for (const corner of [
    [0, 0],
    [480, 0],
    [480, 400],
    [0, 400],
  ]) {
    const [x, y] = toScreen(view, corner);
    ok(x >= 20 - 1e-9 && x <= 780 + 1e-9 && y >= 20 - 1e-9 && y <= 580 + 1e-9, `${corner} is at ${x}, ${y}`);
  }
});

test("going to a place moves no farther than it must", () => {
  const view = makeView(1, 0, 600);
  equal(shown(view, [400, 300], [800, 600]), view);
  const [x, y] = toScreen(shown(view, [2000, 300], [800, 600], 80), [2000, 300]);
  equal([x, y], [720, 300]);
});

test("steps of rulers are round and far enough apart", () => {
  for (const scale of [0.1, 0.5, 1.17, 3, 25, 180]) {
    const step = stepFor(scale, 50);
    ok(step * scale >= 50 - 1e-9);
    ok(/^[125]0*$|^0\.0*[125]$/.test(String(step)), String(step));
    close((stepFor(scale, 50, "in") / 25.4) * 16, Math.round((stepFor(scale, 50, "in") / 25.4) * 16), 1e-9);
  }
});

test("the transform is that of the points", () => {
  equal(transformOf(makeView(2, 10, 500)), "translate(10 500) scale(2)");
});
