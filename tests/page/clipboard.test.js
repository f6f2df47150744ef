import { equal, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import { clipboardText, pasted, readClipboard } from "/static/model/clipboard.js";
import { takenAlong } from "/static/model/deleted.js";
import { find } from "/static/model/document.js";
import { remove } from "/static/model/edit.js";

const empty = () => ({ floor: plate().floor, plate: plate().plate, retired_ids: ["P4"] });
const entries = (document, ids) => readClipboard(clipboardText(document, ids)).entries;

test("a channel with its ports comes into another plate as it is, under ids that are new there", () => {
  const { document, ids } = pasted(empty(), entries(plate(), ["P1", "P2", "C1"]));
  equal(ids, ["P5", "P6", "C1"]);
  const channel = find(document, "C1").item;
  equal([channel.start, channel.end, channel.points], ["P5", "P6", [{ x_mm: 100, y_mm: 200 }]]);
  ok(!("serves" in find(document, "P5").item), "one tube needs one port");
});

test("a channel without its ports keeps their places as free ends", () => {
  const { document, ids } = pasted(empty(), entries(plate(), ["C1"]));
  equal(find(document, ids[0]).item.points.map((p) => [p.x_mm, p.y_mm]), [[100, 100], [100, 200], [200, 200]]);
});

test("a card comes with its riser and its group, whatever the order; alone it stands by itself", () => {
  const { document, ids } = pasted(plate(), entries(plate(), ["B2", "G1", "B1"]));
  const [riser, card] = ids.filter((id) => id.startsWith("B"));
  equal([find(document, card).item.held_by, find(document, card).item.slot], [riser, 1]);
  equal(find(document, ids.at(-1)).item.members, [riser, ids.find((id) => id.startsWith("K"))]);
  // Beside the first one, in the same plate.
  equal([find(document, riser).item.x_mm, find(document, riser).item.y_mm], [320, 80]);
  const alone = pasted(empty(), entries(plate(), ["B2"]));
  ok(!("held_by" in find(alone.document, alone.ids[0]).item));
});

test("what is no text of a plate is left alone, and what is broken says so", () => {
  equal(readClipboard("30 mm"), null);
  equal(readClipboard('{"format": "other", "note": "plate-items"}'), null);
  const text = clipboardText(plate(), ["P1"]);
  ok(/cut off/.test(readClipboard(text.slice(0, -5)).problem));
  for (const items of [[], [{ kind: "cake", item: { id: "X1" } }], [{ kind: "port" }], "P1"])
    ok(/no items/.test(readClipboard(JSON.stringify({ format: "plate-items", version: 1, items })).problem));
  ok(/newer/.test(readClipboard(JSON.stringify({ format: "plate-items", version: 9, items: [] })).problem));
  equal(clipboardText(plate(), []), "");
});

test("a deletion says what goes with it", () => {
  const before = { ...plate(), loop: { connections: [["P1", "P2"]], tubes: [{ id: "T1", start: "D1.out", end: "D1.in" }] } };
  equal(takenAlong(before, remove(before, ["D1"]), ["D1"]), "With it went T1. 1 port of the plate serves nothing now.");
  equal(takenAlong(before, remove(before, ["P1"]), ["P1"]), "With it went 1 connection.");
  equal(takenAlong(before, remove(before, ["K1"]), ["K1"]), "");
  // And what does not: a group's members, and what followed a thing.
  equal(takenAlong(before, remove(before, ["G1"]), ["G1"]), "Its members stay: B1, K1.");
  const following = { ...before, cutouts: before.cutouts.map((one) => ({ ...one, follows: { item: "B1" } })) };
  ok(takenAlong(following, remove(following, ["B1"]), ["B1"]).startsWith("What followed it stays: K1."));
});
