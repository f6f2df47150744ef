/** Edits that wait in this browser: those of tabs that are closed now, and of plates that were left. */

import { leftIn, sendLeft } from "./leftovers.js";

/** The browser's own storage, as those who look through it need it. @type {import("./leftovers.js").Storage} */
const browser = {
  keys: () => Object.keys(localStorage),
  getItem: (key) => localStorage.getItem(key),
  setItem: (key, text) => localStorage.setItem(key, text),
  removeItem: (key) => localStorage.removeItem(key),
};

/**
 * Names of what other tabs hold: what a closed tab has left unsaved can be told from what an open one is saving.
 * @returns {Promise<Set<string|undefined>>}
 */
const heldNow = async () => new Set(((await navigator.locks?.query())?.held ?? []).map((lock) => lock.name));

/**
 * @param {{api: Pick<typeof import("./api.js").api, "save">, tab: string, isOpen: (id: string) => boolean, idle: () => unknown,
 *   say: (words: string) => void}} parts  idle: settled when nothing of the open plate is on its way
 */
export function createUnsent({ api, tab, isOpen, idle, say }) {
  // Held as long as this tab lives.
  navigator.locks?.request(`tab:${tab}`, () => new Promise(() => {}));
  /** What is being sent of plates that were left; null when nothing is. @type {Promise<void>|null} */
  let sending = null;

  async function sendNow() {
    await idle();
    const held = await heldNow();
    await sendLeft({
      api,
      storage: browser,
      mine: ({ id, key }) => !isOpen(id) && (key.endsWith(`:${tab}`) || !held.has(`tab:${key.slice(`pending:${id}:`.length)}`)),
      saved: (name, count) => say(`${count === 1 ? "1 change" : `${count} changes`} to “${name}” had waited, and ${count === 1 ? "is" : "are"} saved now.`),
    });
  }

  return {
    left: () => leftIn(browser),
    sending: () => sending,
    /** Edits of plates that were left go out too, when the server takes them again. */
    send() {
      if (!sending && leftIn(browser).length)
        sending = sendNow().finally(() => {
          sending = null;
        });
    },
    /** What tabs that are closed now have left unsaved of a plate. @param {number|string} id */
    async orphans(id) {
      const held = await heldNow();
      const prefix = `pending:${id}:`;
      return browser.keys().filter((key) => key.startsWith(prefix) && !held.has(`tab:${key.slice(prefix.length)}`));
    },
  };
}
