/**
 * Whether what the page shows is about the plate as it is now. An answer that is overdue, or that did not come, leaves the
 * older one on the page; it is then marked as old, and nothing is called good by it.
 */

/** An answer that takes longer than this leaves old ones on the page, ms. */
const OVERDUE = 600;

/**
 * @param {{store: {get: () => {document: unknown, draft: unknown}, set: (patch: {old: string}) => void},
 *   wait: (run: () => void, ms: number) => number, stop: (timer: number) => void}} parts
 */
export function createFreshness({ store, wait, stop }) {
  let timer = 0;
  let busy = false;

  function late() {
    stop(timer);
    timer = wait(() => {
      if (busy) store.set({ old: "Checking: what is shown here is from before the last change." });
    }, OVERDUE);
  }

  return {
    /** Whether the server is being asked. @param {boolean} idle */
    rest(idle) {
      if (busy === !idle) return;
      busy = !idle;
      if (busy) late();
      else stop(timer);
    },
    /** An answer has come. @param {unknown} document what it is about @param {string[]} want */
    answered(document, want) {
      const { draft, document: kept } = store.get();
      if (!want.includes("findings")) return;
      if (document === (draft ?? kept)) store.set({ old: "" });
      if (busy) late();
    },
    /** No answer will come. @param {string} why */
    failed(why) {
      store.set({ old: `${why} What is shown here is from before.` });
    },
    /** Another plate is open. */
    forget() {
      stop(timer);
      store.set({ old: "" });
      if (busy) late();
    },
  };
}
