/** Where one is, for the browser: the address names the plate, and Back and Forward go through the steps. */

/** The plate that an address names, or "". @param {string} hash */
export const plateIn = (hash) => /plate=(\d+)/.exec(hash)?.[1] ?? "";

/** @param {{store: import("../types.js").Store, step: (name: string) => void, open: (id: string) => unknown}} parts */
export function createJourney({ store, step, open }) {
  let here = "";
  let going = false;

  store.watch(["step"], ({ step: name }) => {
    if (!going && here) window.history.pushState({ step: name }, "", `#plate=${here}`);
  });
  window.addEventListener("popstate", ({ state }) => {
    const asked = plateIn(window.location.hash);
    going = true;
    if (state?.step) step(state.step);
    going = false;
    if (asked && asked !== here) open(asked);
  });

  return {
    /** A plate is open now. @param {string|number} id */
    plate(id) {
      const state = { step: store.get().step };
      const address = `#plate=${id}`;
      // The first one, and one that the address has brought, have their place in the browser's history already.
      if (!here || plateIn(window.location.hash) === String(id)) window.history.replaceState(state, "", address);
      else window.history.pushState(state, "", address);
      here = String(id);
    },
  };
}
