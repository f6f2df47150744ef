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
 * @param {{wanted: () => boolean, ask: (document: PlateDocument, moved: string[]) => Promise<Answer>,
 *   show: (document: PlateDocument) => void, later: (act: () => void, ms: number) => unknown}} parts
 */
export function createRerouter({ wanted, ask, show, later }) {
  /** @type {Map<string, import("../types.js").Item>} */
  let laid = new Map();
  /** @type {{document: PlateDocument, moved: string[]}|null} */
  let last = null;
  let busy = false;
  /** @type {(() => void)|null} */
  let pending = null;

  /** A document with the channels as they were last laid. @param {PlateDocument} document @returns {PlateDocument} */
  const over = (document) =>
    laid.size
      ? { ...document, channels: (document.channels ?? []).map((one) => /** @type {typeof one} */ (laid.get(one.id) ?? one)) }
      : document;

  async function questions() {
    if (busy) return;
    busy = true;
    /** @type {typeof last} */
    let asked = null;
    while (last && last !== asked) {
      asked = last;
      try {
        const { channels } = await ask(asked.document, asked.moved);
        // Dropped, or let go of, meanwhile.
        if (!last) break;
        laid = new Map(channels.map((one) => [one.id, one]));
        show(over(last.document));
      } catch {
        // Without an answer the channels stay as they were last laid; that the server is away is said elsewhere.
        break;
      }
    }
    busy = false;
    flush();
  }

  function flush() {
    const keep = pending;
    if (!keep) return;
    [pending, last, laid] = [null, null, new Map()];
    keep();
  }

  return {
    /** A drag begins; what waits of the one before is kept first. */
    begin() {
      flush();
      [last, laid] = [null, new Map()];
    },
    /** The draft to show; asks for its channels when that is wanted. @param {PlateDocument} document @param {string[]} moved @param {boolean} held not now: Alt is held */
    along(document, moved, held) {
      if (!wanted() || held) {
        [last, laid] = [null, new Map()];
        return document;
      }
      last = { document, moved };
      void questions();
      return over(document);
    },
    /** Let go: keeps the draft as soon as its channels are there. @param {() => void} keep */
    settle(keep) {
      if (!busy) {
        [last, laid] = [null, new Map()];
        return keep();
      }
      pending = keep;
      later(flush, LONGEST);
    },
    /** The drag is over without being kept. */
    forget() {
      if (!pending) [last, laid] = [null, new Map()];
    },
  };
}
