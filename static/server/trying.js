/**
 * Fixes are tried out after the findings are on the page: each trial runs the rules again, and nobody waits for that
 * with the next edit. A new question cuts the line, and the server tries no further.
 */

/**
 * @template D, A
 * @param {{ask: (document: D, signal: AbortSignal) => Promise<A>, tried: (answer: A, document: D) => void,
 *   rest?: (idle: boolean) => void}} parts
 */
export function createTrying({ ask, tried, rest = () => {} }) {
  /** @type {AbortController|null} */
  let line = null;

  function stop() {
    line?.abort();
    line = null;
    rest(true);
  }

  return {
    stop,
    /** @param {D} document */
    async start(document) {
      stop();
      const mine = new AbortController();
      line = mine;
      rest(false);
      const answer = await ask(document, mine.signal).catch(() => null);
      if (line !== mine) return;
      line = null;
      rest(true);
      // Without an answer nothing is offered; what goes wrong with the server comes out at the next question.
      if (answer) tried(answer, document);
    },
  };
}
