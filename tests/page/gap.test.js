import { close, equal, test } from "./harness.js";
import { plate } from "./plate.js";
import { gapBetween } from "/static/geometry/gap.js";

const with_ = (cutouts) => ({ ...plate(), cutouts });
const at = (outline, id) => ({ id, outline });

// Plane geometry, worked by hand beside each.
test("two fittings: the distance of their middles less both radii", () => {
  // P2 (200, 200) and P3 (300, 200), fittings of 20 mm.
  equal(gapBetween(plate(), "P2", "P3"), 80);
});

test("a channel and a rectangle: from its edge to the nearest side", () => {
  // C1 runs up x = 100 and is 10 mm wide; K1's left side is at 130.
  equal(gapBetween(plate(), "C1", "K1"), 25);
});

test("rounded corners are taken truly", () => {
  const square = { shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 20, depth_mm: 20, corner_radius_mm: 5 };
  const disc = { shape: "circle", x_mm: 20, y_mm: 20, diameter_mm: 4 };
  // The corner's arc is about (5, 5): its middle is 15√2 from the disc's, less 5 and 2.
  close(gapBetween(with_([at(square, "K1"), at(disc, "K2")]), "K1", "K2"), 15 * Math.SQRT2 - 7);
});

test("slots, turned", () => {
  const slot = { shape: "slot", x_mm: 0, y_mm: 0, length_mm: 40, width_mm: 10, turn_deg: 90 };
  const disc = { shape: "circle", x_mm: 0, y_mm: 30, diameter_mm: 6 };
  close(gapBetween(with_([at(slot, "K1"), at(disc, "K2")]), "K1", "K2"), 30 - 20 - 3);
});

test("what overlaps or lies within is 0 apart; what has no shape has no gap", () => {
  const big = { shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 100, depth_mm: 100 };
  const small = { shape: "circle", x_mm: 10, y_mm: 10, diameter_mm: 4 };
  const across = { shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 200, depth_mm: 10 };
  equal(gapBetween(with_([at(big, "K1"), at(small, "K2")]), "K1", "K2"), 0);
  equal(gapBetween(with_([at(big, "K1"), at(across, "K2")]), "K1", "K2"), 0);
  equal(gapBetween(plate(), "P1", "D1"), null);
});
