/**
 * What is saved elsewhere of the plate that is open here. Another window of this browser says so at once; another browser
 * or profile is noticed when this window is looked at again, now and then while it lies open, and when a hand lets go.
 */

/** Between two looks at what other browsers may have saved, ms. */
const LOOKS_EVERY = 15_000;

/**
 * @param {{store: import("../types.js").Store, sync: {elsewhere: (state?: number) => Promise<unknown>},
 *   windows: BroadcastChannel, back: () => void}} parts  back: this window is looked at again, or has lain open for a while
 */
export function listenElsewhere({ store, sync, windows, back }) {
  const look = (/** @type {number|undefined} */ state = undefined) => {
    const { plate, draft } = store.get();
    if (plate && !draft && document.visibilityState === "visible") void sync.elsewhere(state);
  };
  const again = () => {
    look();
    back();
  };
  windows.addEventListener("message", ({ data }) => {
    if (data?.id === store.get().plate?.id) look(data.state);
  });
  window.addEventListener("focus", again);
  document.addEventListener("visibilitychange", () => look());
  window.setInterval(again, LOOKS_EVERY);
  store.subscribe((now, before) => {
    if (before.draft && !now.draft) look();
  });
}
