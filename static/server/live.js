/**
 * Live answers: one question to the server at a time, and always about the newest document. While one is under way the
 * next waits; one that has been overtaken is never asked.
 */

/**
 * @template D, A
 * @param {{ask: (document: D, want: string[]) => Promise<A>, answered: (answer: A, document: D, want: string[]) => void,
 *   failed?: (error: unknown) => void, rest?: (idle: boolean) => void}} parts
 */
export function createLive({ ask, answered, failed = () => {}, rest = () => {} }) {
  let busy = false;
  /** @type {{document: D, want: string[]}|null} */
  let waiting = null;

  async function run() {
    if (busy) return;
    busy = true;
    rest(false);
    while (waiting) {
      const { document, want } = waiting;
      waiting = null;
      try {
        answered(await ask(document, want), document, want);
      } catch (error) {
        failed(error);
      }
    }
    busy = false;
    rest(true);
  }

  return {
    /** Asks about a document. A question that has not gone out yet is replaced, and what it wanted is wanted still. @param {D} document @param {string[]} want */
    ask(document, want) {
      waiting = { document, want: waiting ? [...new Set([...waiting.want, ...want])] : want };
      rest(false);
      void run();
    },
    get idle() {
      return !busy && !waiting;
    },
  };
}
