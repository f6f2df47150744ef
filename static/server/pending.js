/**
 * Edits that the server does not have yet, in the order they were made: in memory, and in the browser's own storage, so
 * that neither a crash nor a reload loses them.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {{document: PlateDocument, label: string}} Entry
 * @typedef {{getItem: (key: string) => string|null, setItem: (key: string, value: string) => void, removeItem: (key: string) => void}} Kept
 */

/** More waiting edits than this are drawn together into the last one: only undo steps are lost by that. */
const MOST_WAITING = 60;

export class Pending {
  /** @type {Kept} */
  #storage;
  #key;
  /** @type {readonly Entry[]} */
  entries = [];
  /** Whether the browser holds what waits. */
  held = true;

  /** @param {Kept} storage @param {string} id of the plate @param {string} tab */
  constructor(storage, id, tab) {
    this.#storage = storage;
    this.#key = `pending:${id}:${tab}`;
  }

  get count() {
    return this.entries.length;
  }

  /** The newest edit. */
  get last() {
    return this.entries.at(-1);
  }

  /** What waits from now on. @param {readonly Entry[]} entries @param {number} base the server's state that the first of them was made from */
  set(entries, base) {
    this.entries = entries;
    this.held = this.#stored(base);
  }

  /** @param {Entry} entry @param {number} base */
  add(entry, base) {
    const [first, ...rest] = [...this.entries, entry];
    this.set([first, ...rest.slice(1 - MOST_WAITING)], base);
  }

  /** @param {number} base @returns {boolean} whether the storage took it */
  #stored(base) {
    if (!this.count) {
      this.#storage.removeItem(this.#key);
      return true;
    }
    // When the browser's storage is full, the newest state alone is kept.
    for (const queue of [this.entries, this.entries.slice(-1)]) {
      try {
        this.#storage.setItem(this.#key, JSON.stringify({ base, queue }));
        return true;
      } catch {
        continue;
      }
    }
    return false;
  }

  /**
   * What this browser still holds of the plate: this tab's, or else the first of what closed tabs have left, which is
   * taken out of the storage.
   * @param {string[]} orphans keys of storage @returns {{base: number, queue: Entry[]}|null}
   */
  left(orphans) {
    for (const name of [this.#key, ...orphans]) {
      const text = this.#storage.getItem(name);
      if (!text) continue;
      if (name !== this.#key) this.#storage.removeItem(name);
      const found = parsed(text);
      if (found?.queue?.length) return found;
    }
    return null;
  }
}

/** What waits, as the storage has it. @param {string} text @returns {{base: number, queue: Entry[]}|null} */
export function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
