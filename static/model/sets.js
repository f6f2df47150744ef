/** Sets of names that are joined, step by step. */
export function createSets() {
  /** @type {Map<string, string>} */
  const above = new Map();
  /** @param {string} name @returns {string} */
  const top = (name) => {
    const next = above.get(name);
    return next === undefined ? name : top(next);
  };
  return {
    top,
    /** @param {string} a @param {string} b */
    join(a, b) {
      if (top(a) !== top(b)) above.set(top(a), top(b));
    },
  };
}
