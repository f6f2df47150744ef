import { equal, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import { createInStep } from "/static/canvas/instep.js";

/** A store, a server that answers when it is told to, what was committed, and what the waiting edits became. @param {boolean} waits whether the edit is not saved yet when the answer comes */
function made(waits = true) {
  const cutouts = [{ id: "K9", outline: { shape: "circle", x_mm: 0, y_mm: 0, diameter_mm: 5 }, follows: { item: "O1" } }];
  let state = { plate: { id: 1 }, document: { ...plate(), cutouts }, draft: null };
  const listeners = [];
  const waiting = [];
  const committed = [];
  const amended = [];
  const held = [];
  const store = {
    get: () => state,
    subscribe: (listener) => listeners.push(listener),
    set(change) {
      const before = state;
      state = { ...state, ...change };
      for (const listener of listeners) listener(state, before);
    },
  };
  const api = { post: (_, { document }) => new Promise((done, fail) => waiting.push({ document, done, fail })) };
  const actions = {
    commit(document, label) {
      committed.push(label);
      store.set({ document });
    },
    show: (document) => store.set({ document, draft: null }),
  };
  const sync = {
    hold: (document) => held.push(document),
    amend(before, after) {
      if (waits) amended.push([before, after]);
      return waits;
    },
  };
  createInStep({ store, actions, api, sync });
  const answer = async (ids = ["K9"]) => {
    const { document, done } = waiting.shift();
    done({ ids, document: { ...document, name: "in step" } });
    await new Promise((next) => setTimeout(next, 0));
  };
  const moved = () => ({ ...state.document, floor: { ...state.document.floor, obstacles: state.document.floor.obstacles.map((o) => ({ ...o })) } });
  return { store, waiting, committed, amended, held, answer, moved };
}

test("what follows is asked for once, and becomes part of the edit that waits for it", async () => {
  const { store, waiting, committed, amended, held, answer, moved } = made();
  const edited = moved();
  store.set({ document: edited });
  equal([waiting.length, held], [1, [edited]]);
  await answer();
  equal([committed, amended.length, amended[0][0] === edited], [[], 1, true]);
  ok(store.get().document === amended[0][1]);
  store.set({ document: { ...store.get().document, note: "of no matter" } });
  equal(waiting.length, 0);
});

test("of a state that is not waiting to be saved what follows is a step by itself", async () => {
  const { store, committed, answer, moved } = made(false);
  store.set({ document: moved() });
  await answer();
  equal(committed, ["Move K9 along"]);
});

for (const waits of [true, false])
  test(`an answer that comes during another drag is shown when the hand is off${waits ? "" : ", as a step if it must be"}`, async () => {
    const { store, waiting, committed, amended, answer, moved } = made(waits);
    const edited = moved();
    store.set({ document: edited });
    store.set({ draft: moved() });
    await answer();
    equal([committed.length, amended.length, store.get().document === edited], [0, waits ? 1 : 0, true]);
    // The drag is given up: the document is as it was.
    store.set({ draft: null });
    equal([waiting.length, store.get().document.name, committed.length], [0, "in step", waits ? 0 : 1]);
  });

test("a drag that is kept was made from what was out of step, and is asked about", async () => {
  const { store, waiting, amended, answer, moved } = made();
  store.set({ document: moved() });
  store.set({ draft: moved() });
  await answer();
  store.set({ document: { ...store.get().document, note: "dragged" }, draft: null });
  equal([waiting.length, waiting[0].document.note], [1, "dragged"]);
  await answer();
  equal([amended.length, store.get().document.note, store.get().document.name], [2, "dragged", "in step"]);
});

test("edits one upon the other are each asked about; an answer about another plate is not taken", async () => {
  const { store, waiting, committed, amended, answer, moved } = made();
  store.set({ document: moved() });
  store.set({ document: { ...store.get().document, note: "meanwhile" } });
  equal([waiting.length, waiting[1].document.note], [2, "meanwhile"]);
  await answer();
  equal([amended.length, store.get().document.name], [1, undefined]);
  await answer();
  equal([amended.length, store.get().document.name, store.get().document.note], [2, "in step", "meanwhile"]);
  store.set({ document: moved() });
  store.set({ plate: { id: 2 }, document: plate() });
  await answer();
  equal([committed.length, amended.length, waiting.length], [0, 2, 0]);
});
