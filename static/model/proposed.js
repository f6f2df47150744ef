/**
 * A proposal taken in part: some of its channels, the rest of the plate as it is. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Alternative} Alternative
 * @typedef {import("../types.js").Kinds["channel"]} Channel
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

/** A channel's two ends as one name. @param {Channel} channel */
const ends = ({ start, end }) => [start, end].sort().join(" ");

/** @param {PlateDocument} document */
function joined(document) {
  const sets = createSets();
  for (const { start, end } of itemsOf(document, "channel")) if (start && end) sets.join(start, end);
  return sets;
}

/**
 * The plate with some of a proposal's channels. All of them: the proposal as it is, lid screws and all. Fewer: the rest of
 * the plate stays, its lid screws too; a drawn channel goes when the whole connection is laid again, or one with its ends.
 * @param {PlateDocument} document @param {Alternative} proposal @param {Share[]} shares @param {Set<string>} wanted ids
 * @returns {PlateDocument}
 */
export function taken(document, proposal, shares, wanted) {
  if (shares.every((share) => share.channels.every((id) => wanted.has(id)))) return proposal.document;
  const added = itemsOf(proposal.document, "channel").filter((channel) => wanted.has(channel.id));
  const pairs = new Set(added.map(ends));
  const drawn = new Map(itemsOf(document, "channel").map((channel) => [channel.id, channel]));
  const gone = new Set(
    shares.flatMap((share) =>
      share.channels.every((id) => wanted.has(id))
        ? share.gone
        : share.gone.filter((id) => pairs.has(ends(/** @type {Channel} */ (drawn.get(id))))),
    ),
  );
  const before = new Set(itemsOf(document, "branch").map((branch) => branch.id));
  const kept = itemsOf(document, "channel").filter((channel) => !gone.has(channel.id));
  const channels = [...kept, ...added];
  const reached = new Set(channels.flatMap(({ start, end }) => [start, end]));
  const lost = itemsOf(document, "branch").filter(
    (branch) => !reached.has(branch.id) && itemsOf(document, "channel").some(({ start, end }) => start === branch.id || end === branch.id),
  );
  const dropped = new Set(lost.map((branch) => branch.id));
  const branches = [
    ...itemsOf(document, "branch").filter((branch) => !dropped.has(branch.id)),
    ...itemsOf(proposal.document, "branch").filter((branch) => !before.has(branch.id) && reached.has(branch.id)),
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
