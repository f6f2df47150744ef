import { equal, test } from "./harness.js";
import { Away, Refused } from "/static/server/api.js";
import { leftIn, sendLeft } from "/static/server/leftovers.js";

/** A storage, and a server of some plates by their states; `fails` is thrown at the next save. */
function bench(kept) {
  const map = new Map(Object.entries(kept).map(([key, value]) => [key, JSON.stringify(value)]));
  const storage = {
    keys: () => [...map.keys()],
    getItem: (key) => map.get(key) ?? null,
    setItem: (key, text) => map.set(key, text),
    removeItem: (key) => map.delete(key),
  };
  const states = { 1: 5, 2: 9 };
  const saved = [];
  const api = {
    fails: null,
    async save(id, base, document) {
      await 0;
      if (api.fails) throw api.fails;
      if (base !== states[id]) throw new Refused(409, { error: { code: "conflict" } });
      saved.push([id, document.n]);
      states[id] += 1;
      return { state: states[id] };
    },
  };
  const said = [];
  const run = (mine = () => true) => sendLeft({ api, storage, mine, saved: (name, count) => said.push([name, count]) });
  return { storage, map, api, saved, said, run };
}

const entry = (n) => ({ document: { n, name: "left" }, label: "x" });

test("edits of a plate that was left go out in their order, each on the state that the one before made", async () => {
  const { map, saved, said, run, storage } = bench({ "pending:1:a": { base: 5, queue: [entry(1), entry(2)] }, theme: "dark" });
  equal(leftIn(storage), [{ id: "1", key: "pending:1:a", count: 2 }]);
  await run();
  equal(saved, [["1", 1], ["1", 2]]);
  equal([...map.keys()], ["theme"]);
  equal(said, [["left", 2]]);
});

test("what another window has changed waits for a question; the next plate's goes out", async () => {
  const { map, saved, run } = bench({
    "pending:1:a": { base: 3, queue: [entry(1)] },
    "pending:2:a": { base: 9, queue: [entry(7)] },
  });
  await run();
  equal(saved, [["2", 7]]);
  equal(JSON.parse(map.get("pending:1:a")).queue.length, 1);
});

test("without a server, and for a plate that is open, all stays", async () => {
  const { map, api, saved, run } = bench({ "pending:1:a": { base: 5, queue: [entry(1), entry(2)] } });
  api.fails = new Away("away");
  await run();
  api.fails = null;
  await run(() => false);
  equal(saved, []);
  equal(JSON.parse(map.get("pending:1:a")).queue.length, 2);
  // Taken up by its plate while one was on its way: nothing of what stands there is touched.
  const theirs = JSON.stringify({ base: 5, queue: [entry(1), entry(2), entry(3)] });
  const going = run();
  map.set("pending:1:a", theirs);
  await going;
  equal(saved, [["1", 1]]);
  equal(map.get("pending:1:a"), theirs);
});
