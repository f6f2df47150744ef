/**
 * Channels that follow a hand: while something is dragged the server is asked to lay the channels again that end at it or
 * that it would hit, one question at a time, always about where the hand is now. What it answers is shown with the draft,
 * and kept with it as one step.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {{channels: import("../types.js").Item[], left: string[]}} Answer
 */

/** Let go, the hand waits so long at most for the last answer, ms; then what is known is kept. */
const LONGEST = 1500;

/**
 * @typedef {{wanted: () => boolean, ask: (document: PlateDocument, moved: string[]) => Promise<Answer>,
 *   show: (document: PlateDocument) => void, later: (act: () => void, ms: number) => unknown}} Parts
 */

/** One drag after the other: what was last asked about, what was last laid, and what waits to be kept. */
export class Rerouter {
  /** @type {Map<string, import("../types.js").Item>} */
  #laid = new Map();
  /** @type {{document: PlateDocument, moved: string[]}|null} */
  #last = null;
  #busy = false;
  /** @type {(() => void)|null} */
  #pending = null;

  /** @param {Parts} parts */
  constructor(parts) {
    this.parts = parts;
  }

  /** A drag begins; what waits of the one before is kept first. */
  begin() {
    this.#flush();
    this.#clear();
  }

  /** The draft to show; asks for its channels when that is wanted. @param {PlateDocument} document @param {string[]} moved @param {boolean} held not now: Alt is held */
  along(document, moved, held) {
    if (!this.parts.wanted() || held) {
      this.#clear();
      return document;
    }
    this.#last = { document, moved };
    void this.#questions();
    return withLaid(document, this.#laid);
  }

  /** Let go: keeps the draft as soon as its channels are there. @param {() => void} keep */
  settle(keep) {
    if (!this.#busy) {
      this.#clear();
      return keep();
    }
    this.#pending = keep;
    this.parts.later(() => this.#flush(), LONGEST);
  }

  /** The drag is over without being kept. */
  forget() {
    if (!this.#pending) this.#clear();
  }

  async #questions() {
    if (this.#busy) return;
    this.#busy = true;
    /** @type {{document: PlateDocument, moved: string[]}|null} */
    let asked = null;
    while (this.#last && this.#last !== asked) {
      asked = this.#last;
      try {
        const { channels } = await this.parts.ask(asked.document, asked.moved);
        // Dropped, or let go of, meanwhile.
        if (!this.#last) break;
        this.#laid = new Map(channels.map((one) => [one.id, one]));
        this.parts.show(withLaid(this.#last.document, this.#laid));
      } catch {
        // Without an answer the channels stay as they were last laid; that the server is away is said elsewhere.
        break;
      }
    }
    this.#busy = false;
    this.#flush();
  }

  #flush() {
    const keep = this.#pending;
    if (!keep) return;
    this.#pending = null;
    this.#clear();
    keep();
  }

  #clear() {
    [this.#last, this.#laid] = [null, new Map()];
  }
}

/** A document with the channels as they were last laid. @param {PlateDocument} document @param {Map<string, import("../types.js").Item>} laid @returns {PlateDocument} */
function withLaid(document, laid) {
  if (!laid.size) return document;
  return { ...document, channels: (document.channels ?? []).map((one) => /** @type {typeof one} */ (laid.get(one.id) ?? one)) };
}
