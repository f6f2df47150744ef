import { close, equal, test } from "./harness.js";
import { plate } from "./plate.js";
import { find } from "/static/model/document.js";
import { gridOf, ringOf } from "/static/model/repeat.js";

const placeOf = (document, id) => {
  const { x_mm, y_mm } = find(document, id).item;
  return [x_mm, y_mm];
};

test("a grid of 3 by 2 has five copies, row by row", () => {
  const { document, ids } = gridOf(plate(), ["P1"], 3, 2, 20, 30);
  const [x, y] = placeOf(plate(), "P1");
  equal(
    ids.map((id) => placeOf(document, id)),
    [
      [x + 20, y],
      [x + 40, y],
      [x, y + 30],
      [x + 20, y + 30],
      [x + 40, y + 30],
    ],
  );
});

// Quarter turns about a place, by hand.
test("a ring of four about a place stands at its quarters", () => {
  const [x, y] = placeOf(plate(), "P1");
  const { document, ids } = ringOf(plate(), ["P1"], 4, [x - 10, y], 360);
  equal(
    ids.map((id) => placeOf(document, id)),
    [
      [x - 10, y + 10],
      [x - 20, y],
      [x - 10, y - 10],
    ],
  );
});

test("over a part of a circle the last stands at its end", () => {
  const [x, y] = placeOf(plate(), "P1");
  const { document, ids } = ringOf(plate(), ["P1"], 3, [x - 10, y], 90);
  equal(placeOf(document, ids[1]), [x - 10, y + 10]);
  close(placeOf(document, ids[0])[0], x - 10 + 10 * Math.SQRT1_2, 1e-6);
});
