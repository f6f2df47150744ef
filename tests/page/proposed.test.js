import { equal, frozen, ok, test } from "./harness.js";
import { sharesOf, taken } from "/static/model/proposed.js";

const channel = (id, start, end) => ({ id, start, end, width_mm: 8, depth_mm: 8 });
const port = (id) => ({ id, x_mm: 0, y_mm: 0 });

/** P1 – P2 is drawn by way of B1, P3 – P4 and P5 – P6 are open; the proposal lays all again but C9, which is locked. */
const drawn = frozen({
  ports: ["P1", "P2", "P3", "P4", "P5", "P6"].map(port),
  branches: [{ id: "B1", x_mm: 1, y_mm: 1 }],
  channels: [channel("C1", "P1", "B1"), channel("C2", "B1", "P2"), { ...channel("C9", "P5", "P6"), locked: true }],
  groups: [{ id: "G1", members: ["C1", "P1"] }],
  holes: [{ id: "H1", use: "lid" }],
  retired_ids: ["C0"],
  loop: { connections: [["P1", "P2"], ["P3", "P4"], ["P5", "P6"]] },
});
const proposal = frozen({
  document: {
    ...drawn,
    branches: [{ id: "B2", x_mm: 2, y_mm: 2 }],
    channels: [drawn.channels[2], channel("C3", "P1", "P2"), channel("C4", "P3", "B2"), channel("C5", "B2", "P4")],
    holes: [{ id: "H2", use: "lid" }],
    retired_ids: ["C0", "B1", "C1", "C2"],
  },
});

test("a proposal is parted by connections, each with what it lays and what it lays again", () => {
  equal(
    sharesOf(drawn, proposal).map(({ ports, channels, gone }) => [ports.join(), channels.join(), gone.join()]),
    [
      ["P1,P2", "C3", "C1,C2"],
      ["P3,P4", "C4,C5", ""],
    ],
  );
});

test("taken whole it is the proposal itself; in part the rest stays, lid screws too", () => {
  const shares = sharesOf(drawn, proposal);
  ok(taken(drawn, proposal, shares, new Set(["C3", "C4", "C5"])) === proposal.document);
  const second = taken(drawn, proposal, shares, new Set(["C4", "C5"]));
  equal(second.channels.map((one) => one.id), ["C1", "C2", "C9", "C4", "C5"]);
  equal(second.branches.map((one) => one.id), ["B1", "B2"]);
  equal(second.holes, drawn.holes);
  equal(second.retired_ids, ["C0"]);
  const first = taken(drawn, proposal, shares, new Set(["C3"]));
  equal(first.channels.map((one) => one.id), ["C9", "C3"]);
  equal(first.branches, []);
  // What is gone is never given out again, and in no group.
  equal(first.retired_ids, ["C0", "C1", "C2", "B1"]);
  equal(first.groups[0].members, ["P1"]);
  equal(taken(drawn, proposal, shares, new Set()).channels, drawn.channels);
});

test("one channel of several is taken alone; what is drawn goes only where its own ends are joined again", () => {
  const shares = sharesOf(drawn, proposal);
  const one = taken(drawn, proposal, shares, new Set(["C4"]));
  equal(one.channels.map(({ id }) => id), ["C1", "C2", "C9", "C4"]);
  equal(one.branches.map(({ id }) => id), ["B1", "B2"]);
  equal(one.retired_ids, ["C0"]);

  const again = frozen({
    document: {
      ...drawn,
      branches: [{ id: "B2", x_mm: 2, y_mm: 2 }],
      channels: [drawn.channels[2], channel("C6", "B2", "P1"), channel("C7", "B2", "P2"), channel("C8", "P1", "P2")],
    },
  });
  // C1 and C2 join P1 and P2 by way of a branch that is not laid again: one new channel does not say which of them goes.
  equal(taken(drawn, again, sharesOf(drawn, again), new Set(["C6"])).channels.map(({ id }) => id), ["C1", "C2", "C9", "C6"]);
});
