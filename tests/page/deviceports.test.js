import { equal, test } from "./harness.js";
import { choicesFor, devicePorts } from "/static/model/choices.js";
import { withPorts } from "/static/model/deviceports.js";

const plate = () => ({
  devices: [
    { id: "D1", name: "Pump", ports: [{ id: "in" }, { id: "out" }] },
    { id: "D2", ports: [{ id: "in" }] },
  ],
  boards: [{ id: "B1" }],
  ports: [{ id: "P1", x_mm: 0, y_mm: 0, serves: "D1.in" }, { id: "P2", x_mm: 9, y_mm: 0 }],
  loop: { tubes: [{ id: "T1", start: "D1.out", end: "D2.in" }] },
  landings: [{ serves: "D1.in", x_mm: 1, y_mm: 2 }],
});

test("what names a port follows when it is renamed", () => {
  const next = withPorts(plate(), "D1", [{ id: "suction" }, { id: "out" }]);
  equal([next.ports[0].serves, next.landings[0].serves, next.loop.tubes[0].start], ["D1.suction", "D1.suction", "D1.out"]);
});

test("what names a port that is gone forgets it", () => {
  const next = withPorts(plate(), "D1", [{ id: "in" }]);
  equal([next.ports[0].serves, next.loop.tubes.length], ["D1.in", 0]);
  const none = withPorts(plate(), "D1", undefined);
  equal(["serves" in none.ports[0], none.landings.length, "ports" in none.devices[0]], [false, 0, false]);
});

test("a key that names something offers what there is, and what is taken is not offered twice", () => {
  equal(devicePorts(plate()).map(([ref]) => ref), ["D1.in", "D1.out", "D2.in"]);
  equal(choicesFor(plate(), "Port", "serves", "P2").map(([ref]) => ref), ["D1.out", "D2.in"]);
  equal(choicesFor(plate(), "Device", "held_by", "D1"), [["B1", "B1"], ["D2", "D2"]]);
  equal(choicesFor(plate(), "Port", "name"), null);
});
