/** A small plate for the tests: two ports, a channel with one square corner, a cutout, a riser that holds a card. */

import { frozen } from "./harness.js";

export const plate = () =>
  frozen({
    version: 1,
    floor: {
      outline: { shape: "rectangle", x_mm: 200, y_mm: 150, width_mm: 400, depth_mm: 300 },
      obstacles: [{ id: "O1", outline: { shape: "circle", x_mm: 20, y_mm: 20, diameter_mm: 12 }, height_mm: 5 }],
    },
    plate: {
      outline: { shape: "rectangle", x_mm: 200, y_mm: 150, width_mm: 300, depth_mm: 200 },
      body_thickness_mm: 20,
      lid_thickness_mm: 8,
    },
    boards: [
      { id: "B1", x_mm: 300, y_mm: 100, role: "riser", slots: 1 },
      { id: "B2", held_by: "B1", slot: 1, role: "card" },
    ],
    devices: [{ id: "D1", kind: "pump", x_mm: 100, y_mm: 100, ports: [{ id: "out" }] }],
    ports: [
      { id: "P1", x_mm: 100, y_mm: 100, serves: "D1.out" },
      { id: "P2", x_mm: 200, y_mm: 200 },
      { id: "P3", x_mm: 300, y_mm: 200, locked: true },
    ],
    channels: [
      {
        id: "C1",
        start: "P1",
        end: "P2",
        points: [{ x_mm: 100, y_mm: 200 }],
        width_mm: 10,
        depth_mm: 8,
        bend_radius_mm: 15,
      },
    ],
    cutouts: [{ id: "K1", outline: { shape: "rectangle", x_mm: 150, y_mm: 120, width_mm: 40, depth_mm: 20 } }],
    groups: [{ id: "G1", members: ["B1", "K1"] }],
    retired_ids: ["P7"],
  });
