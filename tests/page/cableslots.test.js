import { close, equal, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import * as arrange from "/static/model/arrange.js";
import { insertSlotCorner, moveSlotCorner, removeSlotCorner, slotCourse, slotWidth, waysOut, withSlotCorner } from "/static/model/cableslots.js";
import { clipboardText, pasted, readClipboard } from "/static/model/clipboard.js";
import { takenAlong } from "/static/model/deleted.js";
import { find } from "/static/model/document.js";
import { move, remove } from "/static/model/edit.js";
import { leadersChanged, whyItStays, withFollowers } from "/static/model/following.js";
import { turn, turnable } from "/static/model/turning.js";

const strip = { id: "R1", outline: { shape: "rectangle", x_mm: 100, y_mm: 150, width_mm: 60, depth_mm: 12 }, depth_mm: 5, follows: { item: "O1" } };
const slot = { id: "R2", outline: { shape: "slot", x_mm: 160, y_mm: 150, length_mm: 54, width_mm: 4.5 }, depth_mm: 5, cable: { start: "R1", end: "K1" } };
const slotted = (cable = {}) => ({ ...plate(), pockets: [strip, { ...slot, cable: { ...slot.cable, ...cable } }] });

test("a slot's centreline begins at its pocket, and corners go into its longest leg", () => {
  const document = slotted();
  // 54 over all and 4.5 wide: the ends of the centreline are 49.5 apart.
  equal(slotCourse(document, document.pockets[1]), [
    [135.25, 150],
    [184.75, 150],
  ]);
  const turned = { ...document.pockets[1], outline: { ...slot.outline, turn_deg: 180 } };
  slotCourse(document, turned)[0].forEach((v, i) => close(v, [135.25, 150][i]));
  const more = withSlotCorner(document, "R2");
  equal([more.index, more.document.pockets[1].cable.points], [0, [{ x_mm: 160, y_mm: 150 }]]);
  const bent = insertSlotCorner(moveSlotCorner(more.document, "R2", 0, [160, 190]), "R2", 1, [200, 190]);
  equal(bent.pockets[1].cable.points, [
    { x_mm: 160, y_mm: 190 },
    { x_mm: 200, y_mm: 190 },
  ]);
  ok(!("points" in removeSlotCorner(removeSlotCorner(bent, "R2", 0), "R2", 0).pockets[1].cable));
  equal(slotWidth({ start: "R1", cable_mm: 3 }), 3.5);
  equal(waysOut({ ...document, floor: { ...document.floor, openings: [{ id: "W1" }] } }, "top").map(([id]) => id), ["", "K1"]);
  equal(waysOut({ ...document, floor: { ...document.floor, openings: [{ id: "W1" }] } }, "bottom").map(([id]) => id), ["", "K1", "W1"]);
});

test("a slot moves with all that it joins, and is the server's to lead when a part of it has moved", () => {
  const document = slotted({ points: [{ x_mm: 160, y_mm: 190 }] });
  equal(withFollowers(document, ["R2"]), []);
  ok(/cable slot: move what it joins \(R1, K1\)/.test(whyItStays(document, ["R2"])));
  equal(withFollowers(document, ["O1"]), ["O1", "R1"]);
  equal(withFollowers(document, ["O1", "K1"]).toSorted(), ["K1", "O1", "R1", "R2"]);
  equal(move(document, ["R2"], 5, 0).pockets[1].cable.points, [{ x_mm: 165, y_mm: 190 }]);
  for (const key of ["R1", "K1"]) {
    const [list] = key === "R1" ? ["pockets"] : ["cutouts"];
    ok(leadersChanged(document, { ...document, [list]: document[list].map((item) => (item.id === key ? { ...item } : item)) }));
  }
  const ownCable = { ...document, pockets: [strip, { ...document.pockets[1], cable: { ...slot.cable, cable_mm: 6 } }] };
  ok(leadersChanged(document, ownCable));
  const edge = slotted({ end: undefined });
  ok(leadersChanged(edge, { ...edge, plate: { ...edge.plate, outline: { ...edge.plate.outline } } }));
  ok(!leadersChanged(document, { ...document, plate: { ...document.plate, outline: { ...document.plate.outline } } }));
  // Cut loose it is drawn and moved by hand.
  const loose = slotted({ in_step: false });
  equal(withFollowers(loose, ["R2"]), ["R2"]);
  ok(!leadersChanged(loose, { ...loose, cutouts: loose.cutouts.map((item) => ({ ...item })) }));
});

test("what follows is turned with what it follows, not by itself", () => {
  const document = slotted();
  ok(!turnable(document, "R1"));
  ok(!turnable(document, "R2"));
  equal(turn(document, ["R1", "R2"], [0, 0], 90).pockets, document.pockets);
  equal(turn(slotted({ points: [{ x_mm: 10, y_mm: 0 }] }), ["O1", "R1", "R2", "K1"], [0, 0], 90).pockets[1].cable.points, [{ x_mm: 0, y_mm: 10 }]);
});

test("copies go by copies, and by nothing where there are none", () => {
  const document = slotted();
  const whole = arrange.copy(document, ["R2", "R1", "O1", "K1"], 0, 50);
  const copied = whole.ids.map((id) => find(whole.document, id).item);
  equal(copied[0].cable, { start: copied[1].id, end: copied[3].id });
  equal(copied[1].follows, { item: copied[2].id });
  const part = arrange.copy(document, ["R2", "R1"], 0, 50);
  const [slot, pocket] = part.ids.map((id) => find(part.document, id).item);
  // Into the same cutout; the strip itself was not copied.
  equal([slot.cable, pocket.follows ?? null], [{ start: pocket.id, end: "K1" }, null]);
  ok(leadersChanged(document, part.document));
  const lone = arrange.copy(document, ["R2"], 0, 50);
  ok(!find(lone.document, lone.ids[0]).item.cable);
  const other = pasted(plate(), readClipboard(clipboardText(document, ["R1", "R2", "K1"])).entries);
  const names = Object.fromEntries(other.ids.map((id) => [find(other.document, id).kind + (find(other.document, id).item.cable ? "-slot" : ""), id]));
  equal(find(other.document, names["pocket-slot"]).item.cable, { start: names.pocket, end: names.cutout });
  const alone = pasted(plate(), readClipboard(clipboardText(document, ["R2"])).entries);
  ok(!find(alone.document, alone.ids[0]).item.cable);
});

test("a slot whose pocket or cutout is gone is a pocket, and that is said", () => {
  for (const id of ["R1", "K1"]) {
    const after = remove(slotted(), [id]);
    const left = after.pockets.find((pocket) => pocket.id === "R2");
    ok(left && !left.cable);
    ok(/R2/.test(takenAlong(slotted(), after, [id])));
  }
});

test("a card and its riser are copied as one, and a held card alone has no mirror image", () => {
  const copied = arrange.copy(plate(), ["B2", "B1"], 60, 0);
  const [card, riser] = copied.ids.map((id) => find(copied.document, id).item);
  equal([card.held_by, card.slot, card.x_mm ?? null, riser.x_mm], [riser.id, 1, null, 360]);
  const mirrored = arrange.mirror(plate(), ["B2"], { axis: "x", at: 200 });
  equal(mirrored.ids, []);
  ok(/B2 stays: it is held/.test(arrange.aboutMirrored(plate(), ["B2"], mirrored.pairs)));
  const both = arrange.mirror(plate(), ["B1", "B2"], { axis: "x", at: 200 });
  equal(find(both.document, both.ids[1]).item.held_by, both.ids[0]);
});

test("a mirrored device keeps its hand: its ports stand as on the first, only turned", () => {
  // Three ports on a triangle; seen from above, the way round in → out → fill is the hand of the device.
  const ports = [
    { id: "in", u_mm: 14, v_mm: 0 },
    { id: "out", u_mm: -14, v_mm: 0 },
    { id: "fill", u_mm: 5, v_mm: 20 },
  ];
  const hand = ({ x_mm: x, y_mm: y, turn_deg = 0 }) => {
    const [c, s] = [Math.cos((turn_deg * Math.PI) / 180), Math.sin((turn_deg * Math.PI) / 180)];
    const [a, b, d] = ports.map(({ u_mm: u, v_mm: v }) => [x + u * c - v * s, y + u * s + v * c]);
    return (b[0] - a[0]) * (d[1] - a[1]) - (b[1] - a[1]) * (d[0] - a[0]);
  };
  for (const turn_deg of [0, 30, 90, 200])
    for (const axis of ["x", "y"]) {
      const device = { id: "D9", kind: "block", x_mm: 120, y_mm: 80, turn_deg, ports };
      const made = arrange.mirror({ ...plate(), devices: [device] }, ["D9"], { axis, at: 150 });
      const image = find(made.document, made.ids[0]).item;
      equal(image.ports, ports);
      close(hand(image), hand(device), 1e-6);
      ok(/D\d+ is turned to face the other way, not mirrored/.test(arrange.aboutMirrored(made.document, ["D9"], made.pairs)));
    }
});
