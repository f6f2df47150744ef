import { equal, frozen, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import * as connections from "/static/model/connections.js";
import { remove } from "/static/model/edit.js";

const device = (id, kind, ports = [{ id: "in" }, { id: "out" }]) => ({ id, kind, ports });
const port = (id, serves, x = 0, y = 0) => ({ id, x_mm: x, y_mm: y, serves });

/** A loop of three devices; a tube goes straight from the reservoir to the pump. */
const loop = (more = {}) =>
  frozen({
    ...plate(),
    devices: [device("RES", "reservoir"), device("CPU", "block"), device("PUMP", "pump")],
    ports: [
      port("P1", "PUMP.out"),
      port("P2", "CPU.in", 100, 0),
      port("P3", "CPU.out", 100, 100),
      port("P4", "RES.in", 0, 100),
    ],
    channels: [],
    loop: { tubes: [{ id: "T1", start: "RES.out", end: "PUMP.in" }], ...more },
  });

test("ports are joined once, and only ports", () => {
  ok(connections.whyNotJoined(plate(), []).includes("two or more"));
  ok(connections.whyNotJoined(plate(), ["P1"]).includes("two or more"));
  ok(connections.whyNotJoined(plate(), ["P1", "P2", "K1"]).includes("K1 is not a port"));
  equal(connections.whyNotJoined(plate(), ["P1", "P2"]), "");
  const made = connections.join(plate(), ["P1", "P2"]);
  equal(made.loop.connections, [["P1", "P2"]]);
  ok(connections.whyNotJoined(made, ["P2", "P3"]).includes("P2 is in a connection already"));
  ok(!("connections" in connections.withoutConnection(made, 0).loop));
});

test("what channels join is no longer open, and the rest has the shortest lines", () => {
  const three = frozen({ ...plate(), loop: { connections: [["P1", "P2", "P3"]] } });
  equal(connections.connectionsOf(three)[0].parts, [["P1", "P2"], ["P3"]]);
  equal(connections.openLines(three), [
    [
      [200, 200],
      [300, 200],
    ],
  ]);
  const square = loop({ connections: [["P1", "P3", "P2", "P4"]] });
  // A minimum spanning tree of the corners of a square has three of its sides.
  const lengths = connections.openLines(square).map(([a, b]) => Math.hypot(a[0] - b[0], a[1] - b[1]));
  equal(lengths, [100, 100, 100]);
});

test("a branch joins as the server's own reading of it does", () => {
  const channel = (id, start, end) => ({ id, start, end, points: [], width_mm: 8, depth_mm: 8 });
  const forked = frozen({
    ...loop({ connections: [["P1", "P2", "P3"]] }),
    branches: [{ id: "J1", x_mm: 50, y_mm: 50 }],
    channels: [channel("C1", "P1", "J1"), channel("C2", "J1", "P2"), channel("C3", "J1", "P3")],
  });
  equal(connections.connectionsOf(forked)[0].parts.length, 1);
  equal(connections.openLines(forked), []);
});

test("the order of devices makes connections; a tube needs none", () => {
  equal(connections.orderOf(loop()), ["PUMP", "RES", "CPU"]);
  const { document, said } = connections.fromOrder(loop(), ["PUMP", "CPU", "RES"]);
  equal(document.loop.connections, [
    ["P1", "P2"],
    ["P3", "P4"],
  ]);
  equal(said, ["2 new connections.", "RES to PUMP: joined by a tube."]);
  equal(connections.orderOf(document), ["PUMP", "CPU", "RES"]);
  const again = connections.fromOrder(document, ["PUMP", "CPU", "RES"]);
  ok(again.document === document && again.said[0] === "No new connections.");
});

test("a connection in the way is replaced and said; one that holds more is kept", () => {
  const other = connections.fromOrder(loop({ connections: [["P1", "P4"]] }), ["PUMP", "CPU", "RES"]);
  ok(other.said.includes("P1 – P4 is replaced."));
  const more = connections.fromOrder(loop({ connections: [["P1", "P2", "P9"]] }), ["PUMP", "CPU", "RES"]);
  equal(more.document.loop.connections, [
    ["P1", "P2", "P9"],
    ["P3", "P4"],
  ]);
});

test("an order with a fault is not taken", () => {
  ok(connections.orderFault(loop(), ["CPU", "X"]).includes("no device X"));
  ok(connections.orderFault(loop(), ["CPU", "CPU"]).includes("twice"));
  ok(connections.orderFault(loop(), ["CPU"]).includes("at least two"));
  equal(connections.orderFault(loop(), ["CPU", "RES"]), "");
  const unserved = frozen({ ...loop(), ports: [] });
  const made = connections.fromOrder(unserved, ["PUMP", "CPU"]);
  ok(made.document === unserved && made.said.includes("PUMP to CPU: no port serves PUMP.out."));
});

test("a port that is deleted leaves its connection; one left with one port goes", () => {
  const made = loop({
    connections: [
      ["P1", "P2"],
      ["P3", "P4"],
    ],
  });
  equal(remove(made, ["P1"]).loop.connections, [["P3", "P4"]]);
  const three = loop({ connections: [["P1", "P2", "P3"]] });
  equal(remove(three, ["P3"]).loop.connections, [["P1", "P2"]]);
  ok(remove(three, ["P4"]).loop === three.loop);
});

test("ties and landings of what is deleted go with it", () => {
  const tied = frozen({
    ...loop(),
    ties: [
      { item: "CPU", points: ["A"] },
      { item: "O1", points: ["B"] },
    ],
    landings: [
      { serves: "CPU.in", x_mm: 1, y_mm: 2 },
      { serves: "PUMP.out", x_mm: 3, y_mm: 4 },
    ],
  });
  const gone = remove(tied, ["CPU"]);
  equal(
    gone.ties.map((tie) => tie.item),
    ["O1"],
  );
  equal(
    gone.landings.map((landing) => landing.serves),
    ["PUMP.out"],
  );
  equal(remove(tied, ["O1"]).ties.length, 1);
});
