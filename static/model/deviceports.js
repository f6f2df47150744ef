/**
 * Ports of a device changed: what names one of them follows its new id, and forgets one that is gone. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {{id: string}} Named
 */

import { find } from "./document.js";
import { put, setValue, withRetired } from "./edit.js";

/**
 * @param {PlateDocument} document @param {string} device its id @param {Named[]|undefined} ports
 * @returns {PlateDocument}
 */
export function withPorts(document, device, ports) {
  const before = find(document, device)?.item.ports ?? [];
  const after = ports ?? [];
  const kept = new Set(after.map(({ id }) => id));
  /** @type {Map<string, string|undefined>} */
  const now = new Map();
  before.forEach(({ id }, i) => {
    // As many as before and another id in the same row: it was renamed.
    const renamed = before.length === after.length && !kept.has(id) ? after[i].id : undefined;
    if (!kept.has(id)) now.set(`${device}.${id}`, renamed && `${device}.${renamed}`);
  });
  const next = setValue(document, device, ["ports"], ports);
  return now.size ? withRetired(document, renamedRefs(next, now)) : next;
}

/** @param {PlateDocument} document @param {Map<string, string|undefined>} now new names of device ports; none for those that are gone */
function renamedRefs(document, now) {
  const of = (/** @type {string|null|undefined} */ ref) => (ref && now.has(ref) ? now.get(ref) : ref);
  const changed = (/** @type {string|null|undefined} */ ref) => of(ref) !== ref;
  let next = document;
  (next.ports ?? []).forEach((port, i) => {
    if (changed(port.serves)) next = put(next, ["ports", i, "serves"], of(port.serves));
  });
  const { tubes } = next.loop ?? {};
  if (tubes?.some((tube) => changed(tube.start) || changed(tube.end)))
    next = put(
      next,
      ["loop", "tubes"],
      tubes.map((tube) => ({ ...tube, start: of(tube.start), end: of(tube.end) })).filter((tube) => tube.start && tube.end),
    );
  const { dimensions } = next;
  if (dimensions?.some(({ first, second }) => changed(first?.item) || changed(second?.item)))
    next = put(
      next,
      ["dimensions"],
      dimensions
        .map((one) => ({ ...one, first: { ...one.first, item: of(one.first?.item) }, second: { ...one.second, item: of(one.second?.item) } }))
        // A port that is gone leaves an end without a place.
        .filter(({ first, second }, i) => Boolean(first.item ?? !dimensions[i].first?.item) && Boolean(second.item ?? !dimensions[i].second?.item)),
    );
  const { landings } = next;
  if (landings?.some((landing) => changed(landing.serves)))
    next = put(
      next,
      ["landings"],
      landings.map((landing) => ({ ...landing, serves: of(landing.serves) })).filter((landing) => landing.serves),
    );
  return next;
}
