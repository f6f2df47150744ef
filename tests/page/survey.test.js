import { close, equal, ok, test, throws } from "./harness.js";
import { lineOf, lookOf } from "/static/canvas/readinglines.js";
import { createTools } from "/static/canvas/tools.js";
import { createStore } from "/static/store.js";
import { setUnit } from "/static/survey/edits.js";
import { pairsIn, unreadPairs } from "/static/survey/sequence.js";
import { pixelOf } from "/static/survey/warp.js";
import { plate } from "./plate.js";

const PLACES = { A: [0, 0], B: [400, 0], C: [400, 300], E: [150, 110] };
const place = (id) => PLACES[id];

test("a reading's line runs between its points, to its wall's foot, along the wall, or from the case's wall", () => {
  equal(lineOf({ points: ["A", "C"] }, place), [PLACES.A, PLACES.C]);
  // The foot on a wall along x has the point's own x.
  equal(lineOf({ kind: "offset", points: ["E"], wall: ["A", "B"] }, place), [[150, 0], PLACES.E]);
  equal(lineOf({ kind: "along", points: ["E"], wall: ["A", "B"] }, place), [PLACES.A, [150, 0]]);
  equal(lineOf({ kind: "x", points: ["E"] }, place), [[0, 110], PLACES.E]);
  equal([lineOf({ kind: "height", points: ["E"] }, place), lineOf({ points: ["A", "Q"] }, place)], [null, null]);
  // On the wall A C, of direction (4, 3)/5: E's share of it is (150·4 + 110·3)/5 = 186, so its foot is 186·(4, 3)/5.
  const [foot] = lineOf({ kind: "offset", points: ["E"], wall: ["A", "C"] }, place);
  close(foot[0], 148.8);
  close(foot[1], 111.6);
});

test("a line says how far its reading is off; rivals are not called wrong", () => {
  const looks = [
    [{ set_aside: true }, undefined],
    [{}, undefined],
    [{}, { standardised_residual: 0.4 }],
    [{}, { standardised_residual: -2.5 }],
    [{}, { standardised_residual: 9, suspect: true }],
    [{}, { standardised_residual: 9, suspect: true, rival: true }],
  ].map(([reading, known]) => lookOf(reading, known));
  equal(looks, ["excluded", "unchecked", "agrees", "doubtful", "suspect", "rival"]);
});

test("pairs are read from a line, and a slip in it is named", () => {
  const known = new Set(["A", "B", "C2"]);
  equal(pairsIn("A-B, B C2; A – C2", known), [
    ["A", "B"],
    ["B", "C2"],
    ["A", "C2"],
  ]);
  throws(() => pairsIn("A-Q", known), /no point Q/);
  throws(() => pairsIn("A-A", known), /no pair/);
  throws(() => pairsIn("A", known), /no pair/);
});

test("the pairs that are left are those of which no distance was read, whichever way round", () => {
  const points = ["A", "B", "C"].map((id) => ({ id }));
  const readings = [
    { id: "M1", points: ["B", "A"], value: 1 },
    { id: "M2", kind: "offset", points: ["C"], wall: ["A", "B"], value: 1 },
  ];
  equal(unreadPairs({ ...plate(), survey: { points, readings } }), [
    ["A", "C"],
    ["B", "C"],
  ]);
});

test("two clicks on survey points begin a reading between them; beside them nothing happens", () => {
  const points = Object.entries(PLACES).map(([id, [x_mm, y_mm]]) => ({ id, x_mm, y_mm }));
  const said = [];
  const store = createStore({
    document: plate(),
    answer: { survey: { points } },
    tool: { name: "reading", use: "reading" },
    course: [],
    reading: null,
  });
  const tools = createTools({ store, actions: { say: (words) => said.push(words) }, stage: {} });
  tools.at([200, 150], { reach: 3 });
  equal(said.length, 1);
  tools.at([1, 1], { reach: 3 });
  tools.at([0, 2], { reach: 3 });
  equal(store.get().reading, null);
  tools.at([398, 299], { reach: 3 });
  equal([store.get().reading, store.get().tool, store.get().course], [["A", "C"], null, []]);
});

test("the lens bends a place outwards or inwards by Brown and Conrady's polynomial", () => {
  // The map takes 100 mm to a straightened place of 1 half diagonal; D. C. Brown (1971): r' = r (1 + k1 r² + k2 r⁴).
  const lens = {
    k1: 0.1,
    k2: -0.02,
    centre_px: [400, 300],
    radius_px: 500,
    from_floor: [
      [0.01, 0, 0],
      [0, 0.01, 0],
      [0, 0, 1],
    ],
  };
  const pixel = pixelOf(lens, [0, 0]);
  equal(pixel(0, 0), [400, 300]);
  close(pixel(100, 0)[0], 400 + 500 * 1.08, 1e-9);
  close(pixel(0, 50)[1], 300 + 500 * 0.5 * (1 + 0.1 * 0.25 - 0.02 * 0.0625), 1e-9);
  // A map of the other sign is the same map; what lies behind the camera has no pixel.
  const turned = { ...lens, from_floor: lens.from_floor.map((row) => row.map((v) => -v)) };
  close(pixelOf(turned, [0, 0])(100, 0)[0], 940, 1e-9);
  const tilted = { ...lens, from_floor: [lens.from_floor[0], lens.from_floor[1], [0.01, 0, 1]] };
  ok(pixelOf(tilted, [0, 0])(-200, 0) === null);
});

test("readings are taken in another unit without a change of what was typed", () => {
  const readings = [
    { id: "M1", points: ["A", "B"], value: 19 },
    { id: "M2", points: ["B", "C"], value: 16, unit: "mm" },
    { id: "M3", kind: "diameter", points: ["E"], value: 6 },
  ];
  const document = { ...plate(), survey: { points: [], readings } };
  const units = setUnit(document, ["M1", "M2"], "in").survey.readings.map((r) => [r.value, r.unit]);
  equal(units, [
    [19, "in"],
    [16, "in"],
    [6, undefined],
  ]);
  equal(document.survey.readings, readings);
});
