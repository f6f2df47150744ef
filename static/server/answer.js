/** Taking in what the server says of a document. Pure. */

/**
 * @typedef {import("../types.js").Answer} Answer
 * @typedef {import("../types.js").RawAnswer} RawAnswer
 * @typedef {import("../types.js").SnapPlace} SnapPlace
 */

/**
 * What is known with a new answer worked in: parts that were not asked for stay as they were.
 * @param {Answer|null} before @param {RawAnswer} raw @param {string[]} want @param {boolean} [quick] whether the rules that take long were left out @returns {Answer}
 */
export function withAnswer(before, raw, want, quick = false) {
  const { snaps, missing, ...parts } = raw;
  const asked = Object.fromEntries(
    want
      .filter((part) => part !== "snaps")
      .map((part) => [part, /** @type {Record<string, unknown>} */ (parts)[part] ?? null]),
  );
  return {
    ...before,
    ...asked,
    ...(want.includes("findings")
      ? {
          counts: raw.counts ?? null,
          more: raw.more ?? 0,
          empty: raw.empty ?? null,
          questions: raw.questions ?? null,
          quick,
        }
      : {}),
    snaps: want.includes("snaps") ? hardwareSnaps(snaps) : (before?.snaps ?? []),
    reasons: { ...without(before?.reasons ?? {}, want), ...missing },
  };
}

/** What is left when some keys are taken out. @param {Record<string, string>} reasons @param {string[]} keys */
const without = (reasons, keys) => Object.fromEntries(Object.entries(reasons).filter(([key]) => !keys.includes(key)));

/** Kinds of place that only the server can work out; everything else is in the document itself. @type {Readonly<Record<string, string>>} */
const HARDWARE = { "board-hole": "hole", slot: "slot", "fan-hole": "hole", "device-port": "drop" };

/** @param {RawAnswer["snaps"]} snaps @returns {SnapPlace[]} */
export const hardwareSnaps = (snaps) =>
  (snaps?.places ?? [])
    .filter((place) => place.kind in HARDWARE)
    .map((place) => ({ point: [place.x_mm, place.y_mm], kind: HARDWARE[place.kind], label: place.label }));
