import { equal, ok, test } from "./harness.js";
import { Away, Refused } from "/static/server/api.js";
import { createActions } from "/static/actions.js";
import { createLive } from "/static/server/live.js";
import { withAnswer } from "/static/server/answer.js";
import { createStore } from "/static/store.js";
import { createSync } from "/static/server/sync.js";
import { plate } from "./plate.js";

/** A server in memory: one plate, its states, and whether it is there. */
function server() {
  const made = {
    here: true,
    state: 1,
    document: { n: 0 },
    undone: [],
    done: [],
    refuse: null,
    copies: [],
    async save(_, base, document) {
      await 0;
      if (!made.here) throw new Away("away");
      if (made.refuse) throw new Refused(422, { error: { code: "document", message: made.refuse } });
      if (base !== made.state)
        throw new Refused(409, { error: { code: "conflict" }, state: made.state, document: made.document });
      made.done.push(made.document);
      Object.assign(made, { state: made.state + 1, document });
      return { state: made.state, can_undo: true, can_redo: false };
    },
    async undo() {
      Object.assign(made, { state: made.state + 1, document: made.done.pop() });
      return { state: made.state, document: made.document, can_undo: made.done.length > 0, can_redo: true };
    },
    async open() {
      return { id: 1, state: made.state, document: made.document, can_undo: true, can_redo: false };
    },
    async create({ document }) {
      made.copies.push(document);
      return { id: 2 };
    },
    async ping() {
      if (!made.here) throw new Away("away");
    },
  };
  return made;
}

function storage() {
  const kept = new Map();
  return {
    kept,
    getItem: (k) => kept.get(k) ?? null,
    setItem: (k, v) => kept.set(k, v),
    removeItem: (k) => kept.delete(k),
  };
}

function bench(api, store = storage(), tab = "a") {
  const seen = { links: [], documents: [], conflicts: [], refused: [], plates: [] };
  const sync = createSync({
    api,
    storage: store,
    tab,
    wait: () => new Promise((done) => setTimeout(done, 1)),
    onLink: (link) => seen.links.push(link),
    onState: (p) => seen.plates.push(p),
    onDocument: (d, why) => seen.documents.push([why, d]),
    onConflict: (theirs, mine) => seen.conflicts.push([theirs.document, mine]),
    onRefused: (e) => seen.refused.push(e.message),
  });
  return { sync, seen, store };
}

const settled = async (check) => {
  for (let i = 0; i < 400 && !check(); i += 1) await new Promise((done) => setTimeout(done, 1));
};
const opened = (api) => ({ id: 1, state: api.state, document: api.document, can_undo: false, can_redo: false });

test("edits go out in order, one state each", async () => {
  const api = server();
  const { sync, seen } = bench(api);
  sync.open(opened(api));
  for (const n of [1, 2, 3]) sync.save({ n }, `edit ${n}`);
  await settled(() => sync.link === "saved" && !sync.waiting);
  equal(
    api.done.map((d) => d.n),
    [0, 1, 2],
  );
  equal(api.document, { n: 3 });
  equal(seen.links.at(-1), "saved");
});

test("an edit waits for what belongs to it, goes with it as one step, and those after it wait too", async () => {
  const api = server();
  const { sync, seen, store } = bench(api);
  sync.open(opened(api));
  const [first, after] = [{ n: 1 }, { n: 1, along: true }];
  let known = () => {};
  sync.hold(first, new Promise((done) => (known = done)));
  sync.save(first, "a move");
  sync.save({ n: 2 }, "another");
  await new Promise((done) => setTimeout(done, 0));
  equal([api.done.length, seen.links.at(-1)], [0, "saving"]);
  equal(JSON.parse(store.getItem("pending:1:a")).queue.length, 2, "a crash loses nothing");
  ok(sync.amend(first, after));
  known();
  await settled(() => sync.link === "saved" && !sync.waiting);
  equal([...api.done, api.document], [{ n: 0 }, after, { n: 2 }]);
  ok(!sync.amend(first, after), "too late");
  // Undone at once: the undo waits as the edit does, and takes all of it back.
  const third = { n: 3 };
  sync.hold(third, new Promise((done) => (known = done)));
  sync.save(third, "a move");
  const undone = sync.undo();
  sync.amend(third, { n: 3, along: true });
  known();
  await undone;
  equal([api.document, seen.documents.at(-1)], [{ n: 2 }, ["undo", { n: 2 }]]);
});

test("nothing is lost while the server is away", async () => {
  const api = server();
  const { sync, seen, store } = bench(api);
  sync.open(opened(api));
  api.here = false;
  sync.save({ n: 1 }, "a");
  sync.save({ n: 2 }, "b");
  await settled(() => sync.link === "away");
  equal(JSON.parse(store.getItem("pending:1:a")).queue.length, 2);
  ok(seen.links.includes("away"));
  api.here = true;
  await settled(() => sync.link === "saved");
  equal(api.document, { n: 2 });
  equal(store.getItem("pending:1:a"), null);
});

test("a reload takes up what was not saved", async () => {
  const api = server();
  const store = storage();
  store.setItem("pending:1:a", JSON.stringify({ base: 1, queue: [{ document: { n: 5 }, label: "x" }] }));
  const { sync } = bench(api, store);
  equal(sync.open(opened(api)), { n: 5 });
  await settled(() => sync.link === "saved" && !sync.waiting);
  equal(api.document, { n: 5 });
});

test("what a closed tab left is taken up once", async () => {
  const api = server();
  const store = storage();
  store.setItem("pending:1:gone", JSON.stringify({ base: 1, queue: [{ document: { n: 6 }, label: "x" }] }));
  const { sync } = bench(api, store, "b");
  equal(sync.open(opened(api), ["pending:1:gone"]), { n: 6 });
  await settled(() => !sync.waiting);
  equal([...store.kept.keys()], []);
});

for (const [choice, saved, shown] of [
  ["mine", 9, null],
  ["theirs", 7, 7],
  ["copy", 7, 7],
]) {
  test(`two tabs: nothing is overwritten before the choice; then ${choice}`, async () => {
    const api = server();
    const { sync, seen } = bench(api);
    sync.open(opened(api));
    Object.assign(api, { state: 4, document: { n: 7 } });
    sync.save({ n: 9 }, "mine");
    await settled(() => sync.link === "conflict");
    equal(api.document, { n: 7 });
    equal(seen.conflicts, [[{ n: 7 }, { n: 9 }]]);
    const copy = await sync.resolve(choice);
    await settled(() => sync.link === "saved");
    equal(api.document.n, saved);
    equal(seen.documents.at(-1)?.[1].n ?? null, shown);
    equal([copy, api.copies.length], choice === "copy" ? [2, 1] : [null, 0]);
  });
}

test("a conflict that nobody has answered is asked again after a reload", async () => {
  const api = Object.assign(server(), { state: 4, document: { n: 7 } });
  const store = storage();
  store.setItem("pending:1:a", JSON.stringify({ base: 1, queue: [{ document: { n: 9 }, label: "mine" }] }));
  for (const time of [1, 2]) {
    const { sync, seen } = bench(api, store);
    equal(sync.open(opened(api)), { n: 9 });
    if (time === 2) sync.save({ n: 10 }, "more");
    await new Promise((done) => setTimeout(done, 5));
    equal([sync.link, seen.conflicts.length, api.document], ["conflict", 1, { n: 7 }]);
  }
  equal(JSON.parse(store.getItem("pending:1:a")).base, 1);
});

test("another plate that is opened while an edit is on its way is left alone by its answer", async () => {
  const api = server();
  const { sync, seen, store } = bench(api);
  let arrive = () => {};
  const save = api.save;
  api.save = async (...given) => {
    await new Promise((done) => {
      arrive = done;
    });
    return save(...given);
  };
  sync.open({ ...opened(api), can_undo: "x" });
  sync.save({ n: 1 }, "first plate");
  await settled(() => sync.link === "saving");
  api.save = async (id, base) => ({ id, state: base + 1, can_undo: "x", can_redo: "" });
  sync.open({ id: 2, state: 40, document: { n: 200 }, can_undo: "", can_redo: "" });
  arrive();
  await settled(() => api.done.length);
  await new Promise((done) => setTimeout(done, 5));
  equal([seen.plates.at(-1), sync.link], [{ id: 2, state: 40, canUndo: "", canRedo: "" }, "saved"]);
  equal([...store.kept.keys()], [], "what was sent is sent once");
  sync.save({ n: 201 }, "second plate");
  await settled(() => !sync.waiting && sync.link === "saved");
  equal([seen.plates.at(-1).state, seen.documents], [41, []]);
});

test("what the server refuses goes back to what it has, and is said", async () => {
  const api = server();
  const { sync, seen } = bench(api);
  sync.open(opened(api));
  api.refuse = "too wide";
  sync.save({ n: 1 }, "a");
  await settled(() => seen.refused.length);
  equal([seen.refused, seen.documents], [["too wide"], [["refused", { n: 0 }]]]);
});

test("undo before anything is saved takes the edit out of the queue", async () => {
  const api = server();
  const { sync, seen } = bench(api);
  sync.open(opened(api));
  api.here = false;
  sync.save({ n: 1 }, "a");
  sync.save({ n: 2 }, "b");
  await settled(() => sync.link === "away");
  await sync.undo();
  equal(seen.documents.at(-1), ["undo", { n: 1 }]);
  api.here = true;
  await settled(() => sync.link === "saved");
  equal(api.document, { n: 1 });
  await sync.undo();
  equal(api.document, { n: 0 });
});

test("another window's state is shown when nothing waits here", async () => {
  const api = server();
  const { sync, seen } = bench(api);
  sync.open(opened(api));
  Object.assign(api, { state: 3, document: { n: 3 } });
  await sync.elsewhere(3);
  equal(seen.documents, [["elsewhere", { n: 3 }]]);
});

test("live: one question at a time, the newest next, wants added up", async () => {
  const asked = [];
  const answered = [];
  let let_go = () => {};
  const live = createLive({
    ask: (d, w) => {
      asked.push([d, w]);
      return new Promise((done) => {
        let_go = () => done(d);
      });
    },
    answered: (look) => answered.push(look),
  });
  live.ask(1, ["a"]);
  live.ask(2, ["b"]);
  live.ask(3, ["a"]);
  let_go();
  await settled(() => asked.length === 2);
  let_go();
  await settled(() => answered.length === 2);
  equal(asked, [
    [1, ["a"]],
    [3, ["b", "a"]],
  ]);
  equal(answered, [1, 3]);
});

test("an answer leaves alone what was not asked", () => {
  const before = { findings: [1], counts: { error: 1 }, seal: "s", snaps: [2] };
  equal(withAnswer(before, { flow: { f: 1 }, missing: {} }, ["flow"]), {
    findings: [1],
    counts: { error: 1 },
    seal: "s",
    snaps: [2],
    flow: { f: 1 },
    reasons: {},
  });
});

test("the store tells only of what is new", () => {
  const store = createStore({ a: 1, b: 2 });
  const heard = [];
  store.watch(["a"], (now) => heard.push(now.a));
  store.set({ a: 1 });
  store.set({ b: 3 });
  store.set({ a: 4 });
  equal(heard, [4]);
  ok(Object.isFrozen(store.get()));
});

test("actions: a draft is shown and asked about, not saved; a commit is saved", () => {
  const saved = [];
  const asked = [];
  const store = createStore({ document: plate(), draft: null, selection: ["P2"], spot: null });
  const actions = createActions({
    store,
    sync: { save: (d, l) => saved.push(l), undo() {}, redo() {} },
    live: { ask: (d, w) => asked.push(w) },
    say() {},
    whisper() {},
  });
  actions.draft({ ...plate(), name: "x" });
  equal([saved.length, (store.get().draft ?? store.get().document).name], [0, "x"]);
  actions.dropDraft();
  ok(!(store.get().draft ?? store.get().document).name);
  actions.nudge(1, 0);
  equal([saved, store.get().document.ports[1].x_mm], [["Move P2"], 201]);
});

/** Undo on a server that takes its time and holds each step against its base, as the real one does. */
function stepper() {
  const api = server();
  const states = [0, 1, 2, 3].map((n) => ({ n }));
  let at = 3;
  Object.assign(api, { document: states[at], bases: [] });
  api.undo = async (_, base) => {
    await new Promise((done) => setTimeout(done, 5));
    api.bases.push(base);
    if (base !== api.state)
      throw new Refused(409, { error: { code: "conflict" }, state: api.state, document: api.document });
    at -= 1;
    Object.assign(api, { state: api.state + 1, document: states[at] });
    return { state: api.state, document: api.document, can_undo: at > 0 ? "x" : "", can_redo: "x" };
  };
  return api;
}

test("a double or held undo goes one step after the other, and never into a conflict", async () => {
  const api = stepper();
  const { sync, seen } = bench(api);
  sync.open({ ...opened(api), can_undo: "x" });
  await Promise.all([sync.undo(), sync.undo()]);
  equal([api.document.n, seen.conflicts.length, api.bases], [1, 0, [1, 2]]);
  await Promise.all(Array.from({ length: 30 }, () => sync.undo()));
  equal([api.document.n, seen.conflicts.length, sync.link], [0, 0, "saved"]);
});

test("an edit made while an undo is under way is saved on top of it, and stays in sight", async () => {
  const api = stepper();
  const { sync, seen } = bench(api);
  sync.open({ ...opened(api), can_undo: "x" });
  const undone = sync.undo();
  sync.save({ n: 9 }, "edit");
  await undone;
  await settled(() => sync.link === "saved" && !sync.waiting);
  equal([api.document, seen.conflicts.length, seen.documents], [{ n: 9 }, 0, []]);
});

test("an undo of a plate that another window has changed shows that, for nothing of one's own is at stake", async () => {
  const api = stepper();
  const { sync, seen } = bench(api);
  sync.open({ ...opened(api), can_undo: "x" });
  Object.assign(api, { state: 8, document: { n: 70 } });
  await sync.undo();
  equal([seen.documents, seen.conflicts.length, sync.link], [[["elsewhere", { n: 70 }]], 0, "saved"]);
});

test("a server that cannot keep anything is not called away, and the reason is named", async () => {
  const api = server();
  const links = [];
  const sync = createSync({
    api,
    storage: storage(),
    tab: "a",
    wait: () => new Promise((done) => setTimeout(done, 1)),
    onLink: (link, waiting, why) => links.push(`${link} ${waiting} ${why}`),
    onState() {},
    onDocument() {},
    onConflict() {},
    onRefused() {},
  });
  sync.open(opened(api));
  const save = api.save;
  const fail = (cause) => {
    api.save = async () => {
      throw new Refused(507, { error: { code: "store", message: "The store refused this.", cause } });
    };
  };
  fail("full");
  sync.save({ n: 1 }, "a");
  await settled(() => sync.link === "stuck");
  ok(links.at(-1).startsWith("stuck 1 The disk is full"));
  fail("held");
  await settled(() => links.at(-1).includes("Another program"));
  fail("read-only");
  await settled(() => links.at(-1).includes("permissions"));
  // What has no remedy of its own is said as the store says it.
  fail("other");
  await settled(() => links.at(-1).includes("The store refused this."));
  equal(sync.waiting, 1);
  api.save = save;
  await settled(() => sync.link === "saved");
  equal(api.document, { n: 1 });
});

test("a browser that cannot hold what waits says so", async () => {
  const api = server();
  const said = [];
  const full = {
    ...storage(),
    setItem() {
      throw new Error("full");
    },
  };
  const sync = createSync({
    api,
    storage: full,
    tab: "a",
    wait: () => new Promise((done) => setTimeout(done, 1)),
    onLink: (link, waiting, why) => said.push(why),
    onState() {},
    onDocument() {},
    onConflict() {},
    onRefused() {},
  });
  sync.open(opened(api));
  api.here = false;
  sync.save({ n: 1 }, "a");
  await settled(() => sync.link === "away");
  ok(said.at(-1).includes("keep this window open"));
});

test("a window left behind looks for itself, and takes nothing while its own edits wait", async () => {
  const api = server();
  const { sync, seen } = bench(api);
  sync.open(opened(api));
  await sync.elsewhere();
  equal(seen.documents, []);
  Object.assign(api, { state: 3, document: { n: 3 } });
  await sync.elsewhere();
  equal(seen.documents, [["elsewhere", { n: 3 }]]);
});
