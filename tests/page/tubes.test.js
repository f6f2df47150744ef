import { equal, test } from "./harness.js";
import { plate } from "./plate.js";
import { changesBetween } from "/static/geometry/follow.js";
import { find } from "/static/model/document.js";
import { move } from "/static/model/edit.js";
import * as tubes from "/static/model/tubes.js";

/** @type {[[number, number, number], [number, number, number]]} */
const ENDS = [[100, 100, 20], [300, 100, 120]];
const CORNERS = [{ x_mm: 100, y_mm: 100, z_mm: 120 }];

const withTube = () => {
  const tube = { id: "T1", start: "D1.out", end: "D1.in", points: [{ x_mm: 5, y_mm: 6, z_mm: 7, bend_radius_mm: 9 }] };
  return tubes.withTubePoints({ ...plate(), loop: { tubes: [tube] } }, "P1", () => CORNERS);
};

test("a tube's corners belong to the tube, or to the port that it drops to", () => {
  const document = withTube();
  equal(tubes.tubePoints(document, "P1"), CORNERS);
  equal(tubes.tubePoints(document, "T1").length, 1);
  // A port that serves nothing, and what is no port, has no tube.
  equal([tubes.tubePoints(document, "P2"), tubes.tubePoints(document, "C1"), tubes.tubePoints(document, "no")], [null, null, null]);
  equal(tubes.withTubePoints(document, "P2", () => CORNERS), document);
});

test("a corner moved in plan keeps its height and radius; one taken out leaves the others", () => {
  const moved = tubes.moveTubePoint(withTube(), "T1", 0, [50, 60]);
  equal(tubes.tubePoints(moved, "T1"), [{ x_mm: 50, y_mm: 60, z_mm: 7, bend_radius_mm: 9 }]);
  equal(tubes.tubePoints(tubes.removeTubePoint(moved, "T1", 0), "T1"), []);
});

test("a new corner goes into the nearest leg at the height that the tube has there", () => {
  const document = withTube();
  // Half way along the level leg from (100, 100, 120) to (300, 100, 120).
  const level = tubes.placeOnTube(document, "P1", ENDS, [200, 108]);
  equal([level.index, level.place, level.away], [1, [200, 100, 120], 8]);
  // A quarter of a slanted leg from 20 to 120 mm is at 45 mm.
  const straight = tubes.withTubePoints(document, "P1", () => []);
  const slanted = tubes.placeOnTube(straight, "P1", ENDS, [150, 100]);
  equal([slanted.index, slanted.place], [0, [150, 100, 45]]);
  equal(tubes.tubePoints(tubes.insertTubePoint(document, "P1", 1, level.place), "P1").length, 2);
});

test("a corner right over a port moves with it, others stay", () => {
  const more = tubes.insertTubePoint(withTube(), "P1", 1, [180, 90, 120]);
  const moved = move(more, ["P1"], 10, -5);
  equal(tubes.tubePoints(moved, "P1"), [{ x_mm: 110, y_mm: 95, z_mm: 120 }, { x_mm: 180, y_mm: 90, z_mm: 120 }]);
  equal(find(moved, "P1").item.x_mm, 110);
});

test("a drawing follows its tubes: by their corners, their ports, and away", () => {
  const drawn = withTube();
  const ends = new Map([["P1", ENDS]]);
  equal(changesBetween(drawn, drawn, new Map(), ends).tubes.size, 0);
  equal(
    changesBetween(drawn, tubes.moveTubePoint(drawn, "P1", 0, [120, 100]), new Map(), ends).tubes.get("P1"),
    "M100 100L120 100L300 100",
  );
  equal(changesBetween(drawn, move(drawn, ["D1"], 3, 0), new Map(), ends).tubes.get("P1"), "M100 100L100 100L303 100");
  const loose = { ...drawn, ports: drawn.ports.map(({ serves, ...port }) => port) };
  equal(changesBetween(drawn, loose, new Map(), ends).tubes.get("P1"), "");
  const gone = changesBetween(drawn, { ...drawn, ports: [] }, new Map(), ends);
  equal(gone.gone.has("P1"), true);
});
