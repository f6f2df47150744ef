/** One small state store: a plain object, replaced in part and never changed in place. */

/**
 * @template {object} S
 * @param {S} initial
 */
export function createStore(initial) {
  let state = Object.freeze({ ...initial });
  /** @type {Set<(now: S, before: S) => void>} */
  const listeners = new Set();
  let telling = false;
  /** @type {S[]} */
  const waiting = [];

  function tell(/** @type {S} */ before) {
    waiting.push(before);
    if (telling) return;
    telling = true;
    try {
      while (waiting.length) {
        const earlier = /** @type {S} */ (waiting.shift());
        const now = state;
        for (const listener of [...listeners]) listener(now, earlier);
      }
    } finally {
      telling = false;
    }
  }

  return {
    /** @returns {S} */
    get: () => state,
    /** Replaces some parts. Listeners hear of it only when a part is a new value. @param {Partial<S>} patch */
    set(patch) {
      const before = state;
      const changed = Object.entries(patch).some(
        ([key, value]) => !Object.is(before[/** @type {keyof S} */ (key)], value),
      );
      if (!changed) return;
      state = Object.freeze({ ...before, ...patch });
      tell(before);
    },
    /** @param {(now: S, before: S) => void} listener @returns {() => void} stops listening */
    subscribe(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    /** Calls `react` whenever one of the named parts is a new value. @param {(keyof S)[]} keys @param {(now: S) => void} react */
    watch(keys, react) {
      return this.subscribe((now, before) => {
        if (keys.some((key) => !Object.is(now[key], before[key]))) react(now);
      });
    },
  };
}
