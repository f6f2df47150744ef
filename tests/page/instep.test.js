import { equal, test } from "./harness.js";
import { plate } from "./plate.js";
import { createInStep } from "/static/canvas/instep.js";

/** A store, a server that answers when it is told to, and what was committed. */
function made() {
  const cutouts = [{ id: "K9", outline: { shape: "circle", x_mm: 0, y_mm: 0, diameter_mm: 5 }, follows: { item: "O1" } }];
  let state = { plate: { id: 1 }, document: { ...plate(), cutouts }, draft: null };
  const listeners = [];
  const waiting = [];
  const committed = [];
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
  };
  createInStep({ store, actions, api });
  const answer = async (ids = ["K9"]) => {
    const { document, done } = waiting.shift();
    done({ ids, document: { ...document, name: "in step" } });
    await new Promise((next) => setTimeout(next, 0));
  };
  const moved = () => ({ ...state.document, floor: { ...state.document.floor, obstacles: state.document.floor.obstacles.map((o) => ({ ...o })) } });
  return { store, waiting, committed, answer, moved };
}

test("what follows is asked for once, and its answer is a step", async () => {
  const { store, waiting, committed, answer, moved } = made();
  store.set({ document: moved() });
  equal(waiting.length, 1);
  await answer();
  equal(committed, ["Move K9 along"]);
  store.set({ document: { ...store.get().document, note: "of no matter" } });
  equal(waiting.length, 0);
});

test("an answer that comes during another drag is asked for again when the hand is off", async () => {
  const { store, waiting, committed, answer, moved } = made();
  store.set({ document: moved() });
  store.set({ draft: moved() });
  await answer();
  equal([committed.length, waiting.length], [0, 0]);
  // The drag is given up: the document is as it was.
  store.set({ draft: null });
  equal(waiting.length, 1);
  await answer();
  equal(committed, ["Move K9 along"]);
});

test("an answer about an older plate is asked for again, one about another plate is not", async () => {
  const { store, waiting, committed, answer, moved } = made();
  store.set({ document: moved() });
  store.set({ document: { ...store.get().document, note: "meanwhile" } });
  await answer();
  equal([committed.length, waiting.length, waiting[0].document.note], [0, 1, "meanwhile"]);
  await answer();
  equal(committed, ["Move K9 along"]);
  store.set({ document: moved() });
  store.set({ plate: { id: 2 }, document: plate() });
  await answer();
  equal([committed.length, waiting.length], [1, 0]);
});
