/** Whether two values say the same, whatever the order of their keys. Pure. */

/** @param {unknown} a @param {unknown} b @returns {boolean} */
export function sameContent(a, b) {
  if (Object.is(a, b)) return true;
  if (typeof a !== "object" || typeof b !== "object" || !a || !b || Array.isArray(a) !== Array.isArray(b)) return false;
  const [left, right] = [a, b].map((value) => Object.entries(value).filter(([, part]) => part !== undefined));
  const others = new Map(right);
  return left.length === right.length && left.every(([key, part]) => others.has(key) && sameContent(part, others.get(key)));
}
