import { plate } from "./plate.js";
import { equal, test } from "./harness.js";
import { boardFor, laidFlat, liesFlat, onBoard } from "/static/model/onboard.js";

test("something new goes onto the board or card that is selected alone, never onto a riser", () => {
  const document = plate();
  equal(boardFor(document, ["B2"])?.id, "B2");
  equal(boardFor(document, ["B1"]), null);
  equal(boardFor(document, ["D1"]), null);
  equal(boardFor(document, ["B2", "D1"]), null);
  equal(boardFor(document, []), null);
});

test("it lies on the middle of the board: of its own size, or of its pattern's", () => {
  const { held_by, x_mm, y_mm } = onBoard({ id: "M", width_mm: 200, depth_mm: 120 });
  equal([held_by, x_mm, y_mm], ["M", 100, 60]);
  // A side of 6.7 in (Mini-ITX addendum to the microATX motherboard interface specification).
  const small = onBoard({ id: "M", pattern: "Mini-ITX" });
  equal([small.x_mm, small.y_mm], [85.09, 85.09]);
});

test("laid flat, a device keeps all but how it was turned", () => {
  const device = { id: "D1", kind: "block", held_by: "M", posture: "standing", turn_deg: 90, roll_deg: 180, heat_w: 100 };
  const flat = laidFlat(device, { id: "M", width_mm: 200, depth_mm: 120 });
  equal(liesFlat(device), false);
  equal(liesFlat(flat), true);
  equal([flat.id, flat.kind, flat.heat_w, flat.held_by, flat.x_mm, flat.y_mm], ["D1", "block", 100, "M", 100, 60]);
  equal(["posture", "turn_deg", "roll_deg"].some((key) => key in flat), false);
  equal(device.turn_deg, 90);
});
