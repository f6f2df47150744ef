import { equal, frozen, ok, random, test } from "./harness.js";
import { plate } from "./plate.js";
import { centreOf, cornersOf, find, itemsOf, newId, outlineCorners, withGroups } from "/static/model/document.js";
import * as edit from "/static/model/edit.js";

test("a new id is never one that was used before", () => {
  equal(newId(plate(), "port"), "P8");
  const gone = edit.remove(plate(), ["P2"]);
  equal(newId(gone, "port"), "P8");
  const { document, id } = edit.add(plate(), "cutout", {
    outline: { shape: "circle", x_mm: 1, y_mm: 2, diameter_mm: 3 },
  });
  equal(id, "K2");
  equal(find(document, "K2").item.outline.diameter_mm, 3);
});

test("moving a port keeps square legs square", () => {
  const moved = edit.move(plate(), ["P1"], 10, 5);
  equal(cornersOf(moved, moved.channels[0]), [
    [110, 105],
    [110, 200],
    [200, 200],
  ]);
  const slanted = edit.move(plate(), ["P1"], 10, 5, { square: false });
  equal(cornersOf(slanted, slanted.channels[0])[1], [100, 200]);
});

test("moving does not gather noise, and moving back is where it was", () => {
  const next = random(3);
  let document = plate();
  const steps = [];
  for (let i = 0; i < 50; i += 1) {
    steps.push([Math.round(next() * 2000 - 1000) / 100, Math.round(next() * 2000 - 1000) / 100]);
    document = edit.move(document, ["P1", "P2", "K1", "C1"], ...steps[i]);
  }
  for (const [dx, dy] of steps.reverse()) document = edit.move(document, ["P1", "P2", "K1", "C1"], -dx, -dy);
  equal(document, plate());
});

test("locked and held items stay", () => {
  ok(edit.move(plate(), ["P3"], 5, 5).ports[2].x_mm === 300);
  ok(!edit.movable(plate().boards[1], "board"));
});

test("what moves together", () => {
  equal(withGroups(plate(), ["K1"]).sort(), ["B1", "K1"]);
  equal(withGroups(plate(), ["P1"]), ["P1"]);
});

test("deleting a port frees its channel in the same place and retires the id", () => {
  const gone = edit.remove(plate(), ["P1"]);
  equal(gone.channels[0], {
    id: "C1",
    end: "P2",
    points: [
      { x_mm: 100, y_mm: 100 },
      { x_mm: 100, y_mm: 200 },
    ],
    width_mm: 10,
    depth_mm: 8,
    bend_radius_mm: 15,
  });
  equal(gone.retired_ids, ["P7", "P1"]);
});

test("deleting a device frees its port; deleting a holder frees what it held; groups forget", () => {
  ok(!("serves" in edit.remove(plate(), ["D1"]).ports[0]));
  const gone = edit.remove(plate(), ["B1"]);
  ok(!("held_by" in gone.boards[0]) && !("slot" in gone.boards[0]));
  equal(gone.groups[0].members, ["K1"]);
});

test("what is not touched is shared, nothing is changed in place", () => {
  const before = plate();
  const after = edit.setValue(before, "P1", ["name"], "Pump");
  ok(after.channels === before.channels && after.ports[1] === before.ports[1]);
  equal(before, plate());
});

test("a value taken away leaves no key behind", () => {
  ok(!("serves" in edit.setValue(plate(), "P1", ["serves"], null).ports[0]));
});

test("certain mends are set at their pointers", () => {
  const mended = edit.applyChanges(plate(), [
    { pointer: "/ports/0/x_mm", value: 98.6 },
    { pointer: "/channels/0/depth_mm", value: 7 },
  ]);
  equal([mended.ports[0].x_mm, mended.channels[0].depth_mm], [98.6, 7]);
  equal(edit.pointerPath({ a: { "b/c": 1 } }, "/a/b~1c"), ["a", "b/c"]);
});

test("groups are made, taken apart, and hold an item once", () => {
  const made = edit.group(plate(), ["K1", "P2"], "Two");
  equal(
    made.document.groups.map((g) => g.members),
    [["B1"], ["K1", "P2"]],
  );
  equal(edit.ungroup(made.document, ["P2"]).groups.length, 1);
  equal(edit.lock(plate(), ["P1"], true).ports[0].locked, true);
});

test("middles and corners", () => {
  equal(centreOf(plate(), "K1"), [150, 120]);
  equal(centreOf(plate(), "B2"), [300, 100]);
  equal(
    outlineCorners({ shape: "rectangle", x_mm: 10, y_mm: 20, width_mm: 4, depth_mm: 2, turn_deg: 90 }).map((p) =>
      p.map(Math.round),
    ),
    [
      [11, 18],
      [11, 22],
      [9, 22],
      [9, 18],
    ],
  );
  equal(itemsOf(frozen({}), "port"), []);
});
