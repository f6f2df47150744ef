/**
 * A proposal taken in part: the channels of some connections, the rest of the plate as it is. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Alternative} Alternative
 * @typedef {{ports: string[], channels: string[], gone: string[]}} Share
 *   a connection; the proposal's new channels for it, and the drawn ones that it lays again
 */

import { itemsOf } from "./document.js";
import { createSets } from "./sets.js";

/** What a proposal lays for each connection. @param {PlateDocument} document @param {Alternative} proposal @returns {Share[]} */
export function sharesOf(document, proposal) {
  const [now, then] = [joined(document), joined(proposal.document)];
  const drawn = new Set(itemsOf(document, "channel").map((channel) => channel.id));
  const kept = new Set(itemsOf(proposal.document, "channel").map((channel) => channel.id));
  const of = (/** @type {ReturnType<typeof createSets>} */ sets, /** @type {string[]} */ ports, /** @type {PlateDocument} */ d) =>
    itemsOf(d, "channel")
      .filter(({ start, end }) => ports.some((id) => [start, end].some((name) => name && sets.top(name) === sets.top(id))))
      .map((channel) => channel.id);
  return (document.loop?.connections ?? [])
    .map((ports) => ({
      ports,
      channels: of(then, ports, proposal.document).filter((id) => !drawn.has(id)),
      gone: of(now, ports, document).filter((id) => !kept.has(id)),
    }))
    .filter((share) => share.channels.length);
}

/** @param {PlateDocument} document */
function joined(document) {
  const sets = createSets();
  for (const { start, end } of itemsOf(document, "channel")) if (start && end) sets.join(start, end);
  return sets;
}

/**
 * The plate with what a proposal lays for some connections. All of them: the proposal as it is, lid screws and all. Fewer:
 * the rest of the plate stays, its lid screws too.
 * @param {PlateDocument} document @param {Alternative} proposal @param {Share[]} shares @param {Share[]} chosen
 * @returns {PlateDocument}
 */
export function taken(document, proposal, shares, chosen) {
  if (chosen.length === shares.length) return proposal.document;
  const gone = new Set(chosen.flatMap((share) => share.gone));
  const wanted = new Set(chosen.flatMap((share) => share.channels));
  const before = new Set(itemsOf(document, "branch").map((branch) => branch.id));
  const kept = itemsOf(document, "channel").filter((channel) => !gone.has(channel.id));
  const added = itemsOf(proposal.document, "channel").filter((channel) => wanted.has(channel.id));
  const channels = [...kept, ...added];
  const ends = new Set(channels.flatMap(({ start, end }) => [start, end]));
  const lost = itemsOf(document, "branch").filter(
    (branch) => !ends.has(branch.id) && itemsOf(document, "channel").some(({ start, end }) => start === branch.id || end === branch.id),
  );
  const dropped = new Set(lost.map((branch) => branch.id));
  const branches = [
    ...itemsOf(document, "branch").filter((branch) => !dropped.has(branch.id)),
    ...itemsOf(proposal.document, "branch").filter((branch) => !before.has(branch.id) && ends.has(branch.id)),
  ];
  const retired = [...gone, ...dropped];
  return {
    ...document,
    channels,
    ...(branches.length || document.branches ? { branches } : {}),
    ...(retired.length ? { retired_ids: [...(document.retired_ids ?? []), ...retired] } : {}),
    ...(retired.length && document.groups
      ? {
          groups: document.groups.map((group) => ({
            ...group,
            members: (group.members ?? []).filter((id) => !retired.includes(id)),
          })),
        }
      : {}),
  };
}
