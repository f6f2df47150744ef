/**
 * Edits of plates that are not open any more: they were left while the server kept nothing. What can be saved without a
 * question is; what another window has changed meanwhile waits until its plate is opened, and is asked about there.
 */

import { Away } from "./api.js";
import { parsed } from "./pending.js";

/**
 * @typedef {{id: string, key: string, count: number}} Left  of a plate: how many edits wait under which key of the storage
 * @typedef {import("./pending.js").Kept & {keys: () => string[]}} Storage
 */

const PREFIX = "pending:";

/** What waits in this browser. @param {Storage} storage @returns {Left[]} */
export function leftIn(storage) {
  return storage.keys().flatMap((key) => {
    const id = key.startsWith(PREFIX) ? key.slice(PREFIX.length, key.lastIndexOf(":")) : "";
    const count = id ? (parsed(storage.getItem(key) ?? "")?.queue?.length ?? 0) : 0;
    return count ? [{ id, key, count }] : [];
  });
}

/**
 * Sends what waits of plates that are open in no window, one after the other, until the server does not take one.
 * @param {{api: Pick<typeof import("./api.js").api, "save">, storage: Storage, mine: (left: Left) => boolean,
 *   saved: (name: string, count: number) => void}} parts  mine: whether no other window sees to it, and this one does not either
 */
export async function sendLeft({ api, storage, mine, saved }) {
  for (const left of leftIn(storage)) {
    let sent = 0;
    let name = "";
    try {
      // Asked again each time: its plate may be opened meanwhile, which takes the edits up itself.
      for (let found = parsed(storage.getItem(left.key) ?? ""); found?.queue?.length && mine(left); ) {
        const [entry, ...queue] = found.queue;
        const { state } = await api.save(left.id, found.base, entry.document, entry.label);
        const now = parsed(storage.getItem(left.key) ?? "");
        // Somebody else has taken it up while it was on its way: what stands there is theirs.
        if (now?.base !== found.base || now.queue?.length !== found.queue.length) break;
        found = { base: state, queue };
        if (queue.length) storage.setItem(left.key, JSON.stringify(found));
        else storage.removeItem(left.key);
        sent += 1;
        name = entry.document.name || `plate ${left.id}`;
      }
    } catch (error) {
      if (error instanceof Away) return;
    }
    if (sent) saved(name, sent);
  }
}
