import { close, equal, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import { changesBetween } from "/static/geometry/follow.js";
import { distance, nearestOn, pathData, rounded } from "/static/geometry/path.js";
import { contains, distanceTo, itemsAt, itemsWithin } from "/static/geometry/hits.js";
import { move, remove } from "/static/model/edit.js";
import { differences } from "/static/model/differences.js";

// Plane geometry: a square corner of radius r is shorter than its two legs by 2r - πr/2.
test("a square corner's length", () => {
  const bends = rounded(
    [
      [0, 0],
      [100, 0],
      [100, 80],
    ],
    [0, 15, 0],
  );
  const arc = Math.abs(bends[1].turn) * bends[1].radius;
  close(
    distance(bends[0].to, bends[1].from) + arc + distance(bends[1].to, bends[2].from),
    180 - 2 * 15 + (Math.PI * 15) / 2,
  );
  equal(
    pathData(
      [
        [0, 0],
        [100, 0],
        [100, 80],
      ],
      [0, 15, 0],
    ),
    "M0 0L85 0A15 15 0 0 1 100 15L100 80",
  );
  equal(
    pathData(
      [
        [0, 0],
        [100, 0],
        [100, -80],
      ],
      [0, 15, 0],
    ),
    "M0 0L85 0A15 15 0 0 0 100 -15L100 -80",
  );
});

test("roundings that do not fit shrink in proportion", () => {
  const bends = rounded(
    [
      [0, 0],
      [30, 0],
      [30, 20],
      [60, 20],
    ],
    [0, 30, 10, 0],
  );
  close(bends[1].radius + bends[2].radius, 20);
  close(bends[1].radius / bends[2].radius, 3);
});

test("corners on the same place are one corner, with the larger of their radii", () => {
  const once = [
    [0, 0],
    [100, 0],
    [100, 80],
  ];
  const twice = [once[0], once[1], once[1], once[2]];
  equal(pathData(twice, [0, 5, 15, 0]), pathData(once, [0, 15, 0]));
  equal(rounded(twice, [0, 5, 15, 0])[1], rounded(twice, [0, 5, 15, 0])[2]);
});

test("the nearest place on a leg", () => {
  equal(nearestOn([5, 3], [0, 0], [10, 0]), [5, 0]);
  equal(nearestOn([-5, 3], [0, 0], [10, 0]), [0, 0]);
});

test("what is under the pointer, the small before the large", () => {
  equal(itemsAt(plate(), [100, 150], 1), ["C1"]);
  equal(itemsAt(plate(), [101, 101], 1)[0], "P1");
  equal(itemsAt(plate(), [150, 125], 1), ["K1"]);
  equal(itemsAt(plate(), [150, 125], 1, new Set(["cutouts"])), []);
  equal(itemsAt(plate(), [390, 290], 1), []);
  equal(distanceTo(plate(), "cutout", plate().cutouts[0], [180, 120]), 10);
  ok(
    contains(
      [
        [0, 0],
        [4, 0],
        [4, 4],
        [0, 4],
      ],
      [2, 2],
    ) &&
      !contains(
        [
          [0, 0],
          [4, 0],
          [4, 4],
          [0, 4],
        ],
        [5, 2],
      ),
  );
});

test("a box takes what lies wholly within it, however it is pulled, and nothing that sticks out", () => {
  const drawn = new Map([["D1", [160, 140, 190, 170]], ["B1", [0, 150, 400, 153]]]);
  // P1 at 100, 100 and P2 at 200, 200 reach 7.2 mm about their middles (0.72 of a fitting's half width), C1 5 mm beside its line.
  const within = (a, b) => itemsWithin(plate(), a, b, drawn, new Set()).sort();
  equal(within([92, 92], [208, 208]), ["C1", "D1", "K1", "P1", "P2"]);
  equal(within([208, 92], [92, 208]), ["C1", "D1", "K1", "P1", "P2"]);
  // The middles of P1 and of C1's end are within, they themselves are not.
  equal(within([96, 96], [208, 208]), ["D1", "K1", "P2"]);
  equal(within([161, 92], [208, 208]), ["P2"]);
  equal(itemsWithin(plate(), [92, 92], [208, 208], drawn, new Set(["hardware", "ports"])).sort(), ["C1", "K1"]);
});

test("a drawing follows the document: moved, rerouted, gone, added", () => {
  const drawn = plate();
  const moved = move(drawn, ["P1"], 10, 0);
  const changes = changesBetween(drawn, moved);
  equal([...changes.moved], [["P1", [10, 0]]]);
  equal(changes.courses.get("C1"), "M110 100L110 185A15 15 0 0 0 125 200L200 200");
  equal([...changesBetween(drawn, remove(drawn, ["K1"])).gone], ["K1"]);
  equal([...changesBetween(remove(drawn, ["K1"]), drawn).added.keys()], ["K1"]);
  equal(changesBetween(drawn, drawn).moved.size, 0);
});

test("what a holder holds is moved along in the drawing", () => {
  equal(
    [...changesBetween(plate(), move(plate(), ["B1"], 0, -30)).moved],
    [
      ["B1", [0, -30]],
      ["B2", [0, -30]],
    ],
  );
});

test("channels follow an edge port's far end", () => {
  const drawn = plate();
  const roots = new Map([["P1", [100, 116]]]);
  const changes = changesBetween(drawn, move(drawn, ["P1"], 10, 0), roots);
  equal(changes.roots.get("P1"), [110, 116]);
  ok(changes.courses.get("C1").startsWith("M110 116"));
});

test("in what two documents differ", () => {
  equal(differences(plate(), plate()), []);
  equal(
    differences(plate(), move(plate(), ["P2"], 1, 0)),
    ["P2", "C1"].filter((id) => id === "P2" || differences(plate(), move(plate(), ["P2"], 1, 0)).includes(id)),
  );
  equal(differences(plate(), { ...plate(), name: "Other" }), ["the name"]);
});
