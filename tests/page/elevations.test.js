import { equal, test } from "./harness.js";

import { elevationMoved, meant, oneWay, riseAllowed } from "/static/model/heightdrag.js";

const floor = { obstacles: [{ id: "O1", bottom_mm: 4, height_mm: 20 }] };
const document = Object.freeze({ floor, plate: {}, boards: [{ id: "B1", x_mm: 10, z_mm: 30 }] });
const both = ["bottom_mm", "height_mm"].map((key) => ({ pointer: `/floor/obstacles/0/${key}`, per_mm: 1 }));

test("an obstacle is raised with its top, and never goes below the floor", () => {
  const move = { up: both, right: [] };
  equal(elevationMoved(document, move, 0, 3).floor.obstacles[0], { id: "O1", bottom_mm: 7, height_mm: 23 });
  equal(elevationMoved(document, move, 0, -9).floor.obstacles[0], { id: "O1", bottom_mm: 0, height_mm: 16 });
  equal(riseAllowed(document, move, -9), -4);
});

test("the plate begins where the document says nothing", () => {
  const move = { up: [{ pointer: "/plate/z_mm", per_mm: 1 }], right: [] };
  equal(elevationMoved(document, move, 0, 6).plate, { z_mm: 6 });
  equal(elevationMoved(document, move, 0, -6).plate, {});
});

test("what a holder has turned moves by its factors", () => {
  const move = { up: [{ pointer: "/boards/0/x_mm", per_mm: -1 }], right: [{ pointer: "/boards/0/z_mm", per_mm: 0.5 }] };
  equal(elevationMoved(document, move, 4, 2).boards[0], { id: "B1", x_mm: 8, z_mm: 32 });
});

test("a drag is straight up or level; half millimetres by hand", () => {
  equal([oneWay(3, 5, false), oneWay(5, 3, false), oneWay(5, 3, true)], [[0, 5], [5, 0], [5, 3]]);
  equal([meant(3.3, false), meant(3.34, true)], [3.5, 3.3]);
});

test("a top edge that is pulled makes a thing higher, and never lower than nothing", () => {
  const top = { up: [{ pointer: "/floor/obstacles/0/height_mm", per_mm: 1 }], right: [] };
  equal(elevationMoved(document, top, 0, 5).floor.obstacles[0], { id: "O1", bottom_mm: 4, height_mm: 25 });
  // Its underside is at 4 mm: half a millimetre stays.
  equal(elevationMoved(document, top, 0, -30).floor.obstacles[0].height_mm, 4.5);
});
