/**
 * A search for channels, as the page follows it: begun once, asked after while it runs, cancelled. It knows nothing of
 * the page; what it needs is handed in.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").ProposalState} ProposalState
 * @typedef {"none"|"running"|"done"|"cancelled"|"failed"} Phase
 * @typedef {{phase: Phase, attempts: number, answer: ProposalState["answer"], problem: string, begun: number,
 *   of: PlateDocument|null}} Found
 *   begun: when, ms; of: the document that was asked about
 */

import { Away, sentence } from "./api.js";

/** Between two questions, and between two when the server does not answer, ms. */
const PAUSE = 400;
const LONG_PAUSE = 2000;

/** @type {Found} */
const NOTHING = { phase: "none", attempts: 0, answer: null, problem: "", begun: 0, of: null };

/**
 * @param {{api: {propose: (document: PlateDocument, wishes: object) => Promise<{search: string}>,
 *   proposals: (id: string) => Promise<ProposalState>, cancelProposals: (id: string) => Promise<ProposalState>},
 *   wait: (ms: number) => Promise<unknown>, now: () => number, changed: () => void}} parts
 */
export function createSearch({ api, wait, now, changed }) {
  let found = NOTHING;
  let id = "";
  let run = 0;
  let unwanted = false;

  /** @param {Partial<Found>} more */
  function tell(more) {
    found = { ...found, ...more };
    changed();
  }

  /** @param {ProposalState} state */
  const took = ({ state, attempts, answer }) =>
    tell({
      phase: state,
      attempts,
      answer,
      problem: state === "failed" ? "The search ended by a fault. Nothing on the plate was changed." : "",
    });

  async function follow(/** @type {number} */ mine) {
    while (found.phase === "running") {
      await wait(found.problem ? LONG_PAUSE : PAUSE);
      if (run !== mine || found.phase !== "running") return;
      try {
        const state = await api.proposals(id);
        if (run === mine && found.phase === "running") took(state);
      } catch (error) {
        if (run !== mine) return;
        if (!(error instanceof Away)) return tell({ phase: "failed", problem: sentence(error) });
        tell({ problem: `${error.message} The page asks again until it does.` });
      }
    }
  }

  return {
    get found() {
      return found;
    },
    /** Begins a search; while one runs there is no second. @param {PlateDocument} document @param {object} wishes */
    async start(document, wishes) {
      if (found.phase === "running") return;
      const mine = (run += 1);
      [id, unwanted] = ["", false];
      tell({ ...NOTHING, phase: "running", begun: now(), of: document });
      try {
        const begun = await api.propose(document, wishes);
        // Another plate is open by now, or nobody wants it any longer.
        if (run !== mine || unwanted) return void api.cancelProposals(begun.search).catch(() => {});
        id = begun.search;
        await follow(mine);
      } catch (error) {
        if (run === mine) tell({ phase: "none", problem: sentence(error) });
      }
    },
    /** Ends the search; what it found so far stays. */
    async cancel() {
      if (found.phase !== "running") return;
      unwanted = true;
      tell({ phase: "cancelled", problem: "" });
      if (!id) return;
      const mine = run;
      try {
        const state = await api.cancelProposals(id);
        if (run === mine) took(state);
      } catch (error) {
        if (run === mine) tell({ problem: `${sentence(error)} The search ends by itself when its time is over.` });
      }
    },
    /** Forgets it all: another plate is open. */
    forget() {
      if (found.phase === "running" && id) void api.cancelProposals(id).catch(() => {});
      run += 1;
      unwanted = true;
      found = NOTHING;
    },
  };
}
