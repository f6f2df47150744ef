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
 * @typedef {{api: Pick<import("../types.js").Api, "propose"|"proposals"|"cancelProposals">,
 *   wait: (ms: number) => Promise<unknown>, now: () => number, changed: () => void}} Parts
 */

/** @param {Parts} parts */
export const createSearch = (parts) => new Search(parts);

class Search {
  found = NOTHING;
  /** @type {Parts} */
  #parts;
  #id = "";
  /** Counts the searches: what comes of an earlier one is not this one's. */
  #run = 0;
  #unwanted = false;

  /** @param {Parts} parts */
  constructor(parts) {
    this.#parts = parts;
  }

  /** Begins a search; while one runs there is no second. @param {PlateDocument} document @param {object} wishes */
  async start(document, wishes) {
    if (this.found.phase === "running") return;
    const { api, now } = this.#parts;
    const mine = (this.#run += 1);
    [this.#id, this.#unwanted] = ["", false];
    this.#tell({ ...NOTHING, phase: "running", begun: now(), of: document });
    try {
      const begun = await api.propose(document, wishes);
      // Another plate is open by now, or nobody wants it any longer.
      if (this.#run !== mine || this.#unwanted) return void api.cancelProposals(begun.search).catch(() => {});
      this.#id = begun.search;
      await this.#follow(mine);
    } catch (error) {
      if (this.#run === mine) this.#tell({ phase: "none", problem: sentence(error) });
    }
  }

  /** Ends the search; what it found so far stays. */
  async cancel() {
    if (this.found.phase !== "running") return;
    this.#unwanted = true;
    this.#tell({ phase: "cancelled", problem: "" });
    if (!this.#id) return;
    const mine = this.#run;
    try {
      const state = await this.#parts.api.cancelProposals(this.#id);
      if (this.#run === mine) this.#took(state);
    } catch (error) {
      if (this.#run === mine)
        this.#tell({ problem: `${sentence(error)} The search ends by itself when its time is over.` });
    }
  }

  /** Forgets it all: another plate is open. */
  forget() {
    if (this.found.phase === "running" && this.#id) void this.#parts.api.cancelProposals(this.#id).catch(() => {});
    this.#run += 1;
    this.#unwanted = true;
    this.found = NOTHING;
  }

  /** @param {Partial<Found>} more */
  #tell(more) {
    this.found = { ...this.found, ...more };
    this.#parts.changed();
  }

  /** @param {ProposalState} state */
  #took({ state, attempts, answer }) {
    const problem = state === "failed" ? "The search failed. Nothing on the plate was changed." : "";
    this.#tell({ phase: state, attempts, answer, problem });
  }

  /** Asks how it stands until it is over. @param {number} mine */
  async #follow(mine) {
    const { api, wait } = this.#parts;
    while (this.found.phase === "running") {
      await wait(this.found.problem ? LONG_PAUSE : PAUSE);
      if (this.#run !== mine || this.found.phase !== "running") return;
      try {
        const state = await api.proposals(this.#id);
        if (this.#run === mine && this.found.phase === "running") this.#took(state);
      } catch (error) {
        if (this.#run !== mine) return;
        if (!(error instanceof Away)) return this.#tell({ phase: "failed", problem: sentence(error) });
        this.#tell({ problem: `${error.message} The page asks again until it does.` });
      }
    }
  }
}
