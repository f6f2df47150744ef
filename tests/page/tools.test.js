import { equal, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import { createStore } from "/static/store.js";
import { SHORTCUTS } from "/static/canvas/shortcuts.js";
import { TOOLS, createTools } from "/static/canvas/tools.js";

function bench(tool) {
  const store = createStore({
    document: plate(),
    tool: TOOLS[tool],
    course: [],
    measure: [],
    measureEnds: [],
    sectionLine: null,
    layers: {},
    selection: [],
    snap: null,
  });
  const said = [];
  const actions = {
    commit: (document, label, also) => store.set({ document, ...also }),
    say: (words) => said.push(words),
  };
  return { store, said, tools: createTools({ store, actions, stage: { roots: new Map(), extents: () => new Map() } }) };
}

test("an item is set down where it was clicked, picked, and the tool put away", () => {
  const { store, tools } = bench("hole");
  tools.at([30, 40], { reach: 3 });
  equal(store.get().document.holes, [{ id: "H1", x_mm: 30, y_mm: 40 }]);
  equal([store.get().selection, store.get().tool], [["H1"], null]);
});

test("a channel ends at the second port; the second click of a double click adds nothing", () => {
  const { store, tools } = bench("channel");
  tools.at([201, 199], { reach: 12 });
  tools.at([250, 240], { reach: 3 });
  tools.at([250, 240], { reach: 3 });
  tools.at([300, 200], { reach: 12 });
  const made = store.get().document.channels[1];
  equal([made.start, made.end, made.points], ["P2", "P3", [{ x_mm: 250, y_mm: 240 }]]);
});

test("a channel of one place is refused in words", () => {
  const { store, said, tools } = bench("channel");
  tools.at([201, 199], { reach: 12 });
  tools.finish();
  equal([store.get().document.channels.length, said.length], [1, 1]);
});

test("a polygon closes on its first corner", () => {
  const { store, tools } = bench("cutout-polygon");
  for (const p of [
    [10, 10],
    [40, 10],
    [40, 30],
    [10.5, 10.5],
  ])
    tools.at(p, { reach: 3 });
  equal(store.get().document.cutouts[1].outline.vertices.length, 3);
});

test("measuring takes two places, a third begins anew; Escape puts away step by step", () => {
  const { store, tools } = bench("measure");
  tools.at([0, 0], { reach: 3 });
  tools.at([3, 4], { reach: 3 });
  equal(store.get().measure, [
    [0, 0],
    [3, 4],
  ]);
  tools.at([9, 9], { reach: 3 });
  equal(store.get().measure, [[9, 9]]);
  equal(store.get().measureEnds, [{ x_mm: 9, y_mm: 9 }]);
  ok(tools.escape());
  equal(store.get().tool, null);
  ok(!tools.escape());
});

test("each tool's letter is its own and stands in the help, and none stands there for nothing", () => {
  const letters = Object.values(TOOLS).flatMap(({ letter }) => letter?.toUpperCase() ?? []);
  const [, rows] = SHORTCUTS.find(([title]) => title.startsWith("Tools"));
  equal(rows.flatMap(([keys]) => keys.split(" | ")).sort(), letters.sort());
  equal(new Set(letters).size, letters.length);
});
