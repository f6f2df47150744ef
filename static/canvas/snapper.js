/** Snapping with what the page knows: targets are collected once for each document, and switched off where wanted. */

import { find, placeOf } from "../model/document.js";
import { free, snap, targetsOf } from "../geometry/snap.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {ReturnType<typeof createSnapper>} Snapper
 */

/** @param {import("../types.js").Store} store */
export function createSnapper(store) {
  /** @type {{document: object, snaps: unknown, targets: import("../geometry/snap.js").Targets}|null} */
  let known = null;

  function targets() {
    const { document, answer } = store.get();
    const snaps = answer?.snaps;
    if (known?.document !== document || known.snaps !== snaps)
      known = { document, snaps, targets: targetsOf(document, snaps ?? []) };
    return known.targets;
  }

  return {
    /** Where a place comes to rest. @param {Point} floor @param {{reach: number, from?: Point|null, without?: Set<string>, free?: boolean}} options */
    snapped: (floor, options) =>
      options.free || !store.get().snapping ? free(floor) : snap(floor, targets(), options),
    /** Layers that cannot be seen. @returns {Set<string>} */
    hidden: () =>
      new Set(
        Object.entries(store.get().layers)
          .filter(([, state]) => state === "hidden")
          .map(([name]) => name),
      ),
    /** The place before the one that a tool is about to take, for lines square to it. @returns {Point|null} */
    lastPlace() {
      const { course, measure, sectionLine, document } = store.get();
      const last =
        course.at(-1) ??
        (measure.length === 1 ? measure[0] : null) ??
        (sectionLine?.length === 1 ? sectionLine[0] : null);
      if (typeof last !== "string") return last;
      const item = find(document, last)?.item;
      return item ? placeOf(item) : null;
    },
  };
}
