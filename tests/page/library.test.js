import { equal, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import { find } from "/static/model/document.js";
import { partKinds, partOf, renamed, withPart } from "/static/model/library.js";
import { READY_SETS, abovePlate, addReady } from "/static/model/readysets.js";

test("a part of a device has all but its place, and comes back into another plate", () => {
  const part = partOf(plate(), "D1", "device", "Own pump");
  equal(part, { kind: "device", name: "Own pump", assumed: "", device: { id: "D1", kind: "pump", ports: [{ id: "out" }] } });
  const { document, ids } = withPart(plate(), { ...part, assumed: "Measured." }, [10, 20], []);
  const { item } = find(document, ids[0]);
  equal([item.id, item.name, item.note, item.x_mm, item.y_mm, item.kind], ["D2", "Own pump", "Measured.", 10, 20, "pump"]);
  equal(renamed(part, "Other").name, "Other");
});

test("a tube and a fitting go to the tubes and ports that are selected, and nowhere else", () => {
  const tube = { kind: "tube", name: "Thick", tube: { outer_diameter_mm: 16, inner_diameter_mm: 12 } };
  ok(/Select the tubes/.test(withPart(plate(), tube, [0, 0], ["K1"]).problem));
  const with12 = { ...plate(), ports: [{ ...plate().ports[0], tube: { size: "acrylic 12/8", points: [{ x_mm: 1, y_mm: 2, z_mm: 3 }] } }] };
  const { document } = withPart(with12, tube, [0, 0], ["P1"]);
  equal(find(document, "P1").item.tube, { points: [{ x_mm: 1, y_mm: 2, z_mm: 3 }], outer_diameter_mm: 16, inner_diameter_mm: 12 });
  const fitting = { kind: "fitting", name: "Low", fitting: { kind: "elbow-90" } };
  const next = withPart(document, fitting, [0, 0], ["P1"]).document;
  equal(find(next, "P1").item.tube.end_fitting, { kind: "elbow-90" });
  equal(partOf(next, "P1", "fitting", "Low"), fitting);
  equal(partOf(next, "P1", "tube", "Thick"), tube);
  equal([partKinds("device"), partKinds("port"), partKinds("hole")], [["device"], ["tube", "fitting"], []]);
});

test("what is put in the air is over the plate, its fittings and their straight tubes", () => {
  const on = (/** @type {number} */ z_mm, /** @type {number} */ body_thickness_mm) =>
    abovePlate({ ...plate(), plate: { ...plate().plate, z_mm, body_thickness_mm, lid_thickness_mm: 8 } });
  // 6 + 20 + 8 of plate, 25 of fitting and straight tube, 2 of a board's sheet; in steps of 5, and 60 at the least.
  equal([on(6, 20), on(6, 30), on(0, 10)], [65, 75, 60]);
});

test("every ready set is there in one edit, the card held by its riser", () => {
  for (const { id } of READY_SETS) {
    const { document, ids } = addReady(plate(), id, [200, 150]);
    equal(ids.length, id.startsWith("card") ? 2 : 1);
    if (ids.length > 1) equal([find(document, ids[1]).item.held_by, find(document, ids[1]).item.slot], [ids[0], 1]);
  }
});
