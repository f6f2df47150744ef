import { equal, frozen, ok, test } from "./harness.js";
import { sameContent } from "/static/model/same.js";
import { Away, Refused } from "/static/server/api.js";
import { createSearch } from "/static/server/search.js";

const running = { state: "running", attempts: 1, answer: null };
const done = { state: "done", attempts: 7, answer: { alternatives: [] } };

/** A search over a server that answers what it is told to; an answer that is an error is thrown. */
function bench(states, begun = { search: "s1" }) {
  const asked = [];
  const thrown = (answer) => {
    if (answer instanceof Error) throw answer;
    return answer;
  };
  const search = createSearch({
    api: {
      propose: async (document, wishes) => (asked.push(["propose", wishes]), thrown(begun)),
      proposals: async (id) => (asked.push(["look", id]), thrown(states.shift() ?? done)),
      cancelProposals: async (id) => (asked.push(["cancel", id]), { ...running, state: "cancelled" }),
    },
    wait: () => Promise.resolve(),
    now: () => 5,
    changed: () => said.push([search.found.phase, search.found.problem]),
  });
  const said = [];
  return { search, asked, said };
}

test("a search is begun once and followed to its end", async () => {
  const { search, asked } = bench([running, running]);
  const plate = frozen({ name: "x" });
  const first = search.start(plate, { bends: 1 });
  await search.start(plate, { bends: 0 });
  await first;
  equal(asked, [
    ["propose", { bends: 1 }],
    ["look", "s1"],
    ["look", "s1"],
    ["look", "s1"],
  ]);
  equal([search.found.phase, search.found.attempts], ["done", 7]);
  ok(search.found.of === plate);
});

test("a server that is away is said, and asked again until it is back", async () => {
  const { search, said } = bench([new Away("The server does not answer."), running]);
  await search.start({}, {});
  ok(said.some(([phase, problem]) => phase === "running" && problem.startsWith("The server does not answer.")));
  equal([search.found.phase, search.found.problem], ["done", ""]);
});

test("a search that the server no longer knows has failed, with the reason", async () => {
  const gone = new Refused(404, { error: { message: "No such search runs here." } });
  const { search } = bench([gone]);
  await search.start({}, {});
  equal([search.found.phase, search.found.problem.trim()], ["failed", "No such search runs here."]);
});

test("one that cannot be begun says why, and another can be begun", async () => {
  const { search, asked } = bench([], new Refused(429, { error: { message: "Two searches are running." } }));
  await search.start({}, {});
  equal([search.found.phase, search.found.problem.trim()], ["none", "Two searches are running."]);
  await search.start({}, {});
  equal(asked.length, 2);
});

test("a cancelled search is ended on the server, also when it had only just been begun", async () => {
  const { search, asked } = bench([]);
  const begun = search.start({}, {});
  await search.cancel();
  await begun;
  equal(search.found.phase, "cancelled");
  ok(asked.some(([what]) => what === "cancel"));
  ok(!asked.some(([what]) => what === "look"));
});

test("a search for a plate that is no longer open is ended and forgotten", async () => {
  const { search, asked } = bench([]);
  const begun = search.start({}, {});
  search.forget();
  await begun;
  equal(search.found.phase, "none");
  equal(asked.at(-1), ["cancel", "s1"]);
});

test("the same content is the same in any order of keys", () => {
  ok(sameContent({ a: 1, b: [1, { c: null }] }, { b: [1, { c: null }], a: 1, d: undefined }));
  for (const [a, b] of [
    [{ a: 1 }, { a: 2 }],
    [{ a: 1 }, { b: 1 }],
    [[1], { 0: 1 }],
    [{ a: 1 }, null],
    [[1, 2], [2, 1]],
    [0, "0"],
  ])
    ok(!sameContent(a, b), JSON.stringify([a, b]));
});
