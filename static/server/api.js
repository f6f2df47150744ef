/** Talking to the server: the HTTP interface of `docs/http.md`, and nothing else. */

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").StoredPlate} StoredPlate
 * @typedef {{error?: {code?: string, message?: string, cause?: string, faults?: {pointer: string, message: string}[]}, state?: number,
 *   document?: PlateDocument}} Body  what the server says with a no
 */

/** The server said no: its code, sentence and, for a document, what is wrong where. */
export class Refused extends Error {
  /** @param {number} status @param {Body|null} body */
  constructor(status, body) {
    super(body?.error?.message ?? `The server answered ${status}.`);
    this.status = status;
    this.code = body?.error?.code ?? "unknown";
    this.faults = body?.error?.faults ?? [];
    /** Why the store keeps nothing, in one word. */
    this.cause = body?.error?.cause ?? "";
    this.body = body;
  }
}

/** The server is not there. */
export class Away extends Error {}

/**
 * @param {string} method @param {string} path @param {unknown} [body] @param {AbortSignal} [signal] hangs up
 * @returns {Promise<any>} what the caller's route is known to answer; any: each route says below what that is
 */
async function call(method, path, body, signal) {
  let answer;
  try {
    answer = await fetch(path, {
      method,
      headers: body === undefined ? {} : { "Content-Type": "application/json" },
      body: body === undefined ? undefined : JSON.stringify(body),
      signal,
    });
  } catch {
    throw new Away("The server does not answer.");
  }
  const isJson = (answer.headers.get("Content-Type") ?? "").includes("json");
  const content = isJson ? await answer.json().catch(() => null) : null;
  if (!answer.ok) throw new Refused(answer.status, content);
  return content;
}

/** A question with a file as its body. @param {string} method @param {string} path @param {Blob} body */
export async function send(method, path, body) {
  let answer;
  try {
    answer = await fetch(path, { method, body, headers: { "Content-Type": "application/octet-stream" } });
  } catch {
    throw new Away("The server does not answer.");
  }
  return { ok: answer.ok, content: await answer.json().catch(() => null) };
}

/** What to say of an error: never more than three faults. @param {unknown} error */
export function sentence(error) {
  if (error instanceof Away) return error.message;
  if (!(error instanceof Refused)) return "Something went wrong in the page. Nothing is lost; load the page again.";
  const faults = error.faults.slice(0, 3).map(({ pointer, message }) => `${pointer || "/"}: ${message}`);
  return [error.message, faults.join("; ")].filter(Boolean).join(" ");
}

const plate = (/** @type {string} */ id) => `/api/plates/${encodeURIComponent(id)}`;

export const api = {
  ping: () => call("GET", "/api/ping"),
  /** @returns {Promise<import("../types.js").Reference>} */
  reference: () => call("GET", "/api/reference"),
  /** @returns {Promise<{plates: import("../types.js").ListedPlate[]}>} */
  plates: () => call("GET", "/api/plates"),
  /** @param {{document?: unknown, example?: string, start?: Record<string, number|string>}} what @returns {Promise<StoredPlate>} */
  create: (what) => call("POST", "/api/plates", what),
  /** @param {string} id @returns {Promise<StoredPlate>} */
  open: (id) => call("GET", plate(id)),
  /** @param {string} id @param {number} base @param {PlateDocument} document @param {string} label @returns {Promise<Omit<StoredPlate, "document">>} */
  save: (id, base, document, label) => call("PUT", plate(id), { base, document, label }),
  /** @param {string} id @param {number} base @returns {Promise<StoredPlate>} */
  undo: (id, base) => call("POST", `${plate(id)}/undo`, { base }),
  /** @param {string} id @param {number} base @returns {Promise<StoredPlate>} */
  redo: (id, base) => call("POST", `${plate(id)}/redo`, { base }),
  /** @param {string} id */
  remove: (id) => call("DELETE", plate(id)),
  /** @param {string} id */
  restore: (id) => call("POST", `${plate(id)}/restore`),
  /** What the server says of a document. @param {PlateDocument} document @param {string[]} want @param {{quick?: boolean, ellipse_scale?: number, sides?: string[]}} [more] @returns {Promise<import("../types.js").RawAnswer>} */
  answer: (document, want, more = {}) => call("POST", "/api/look", { document, want, ...more }),
  /** The same, as `knowing.js` asks: with a document, or with an edit of one that is known. @param {object} question @param {AbortSignal} [signal] @returns {Promise<import("../types.js").RawAnswer>} */
  look: (question, signal) => call("POST", "/api/look", question, signal),
  /** How far items reach, and the gap of two. @param {PlateDocument} document @param {string[]} items @returns {Promise<import("../types.js").Measured>} */
  measure: (document, items) => call("POST", "/api/measure", { document, items }),
  /** The plate cut along a line. @param {PlateDocument} document @param {import("../types.js").Point[]} line @returns {Promise<import("../types.js").SectionAnswer>} */
  section: (document, line) => call("POST", "/api/section", { document, line }),
  /** Begins a search for channels. @param {PlateDocument} document @param {object} wishes @returns {Promise<{search: string}>} */
  propose: (document, wishes) => call("POST", "/api/proposals", { document, ...wishes }),
  /** How a search stands. @param {string} id @returns {Promise<import("../types.js").ProposalState>} */
  proposals: (id) => call("GET", `/api/proposals/${encodeURIComponent(id)}`),
  /** Ends a search. @param {string} id @returns {Promise<import("../types.js").ProposalState>} */
  cancelProposals: (id) => call("DELETE", `/api/proposals/${encodeURIComponent(id)}`),
  /** The chances of a plate. @param {PlateDocument} document @returns {Promise<import("../types.js").SurenessAnswer>} */
  sureness: (document) => call("POST", "/api/sureness", { document }),
  /** The library of own parts. @returns {Promise<import("../panels/librarydialog.js").Parts>} */
  parts: () => call("GET", "/api/parts"),
  /** Keeps a part under its name. @param {import("../model/library.js").Part} part @returns {Promise<import("../panels/librarydialog.js").Parts>} */
  keepPart: (part) => call("PUT", "/api/parts", part),
  /** @param {string} name @returns {Promise<import("../panels/librarydialog.js").Parts>} */
  deletePart: (name) => call("DELETE", `/api/parts/${encodeURIComponent(name)}`),
  /** The steps of a plate's history. @param {string} id @returns {Promise<{step: number, steps: {number: number, label: string}[]}>} */
  steps: (id) => call("GET", `${plate(id)}/steps`),
  /** @param {string} id @param {number} base @param {number} step @returns {Promise<StoredPlate>} */
  goTo: (id, base, step) => call("POST", `${plate(id)}/step`, { base, step }),
  /** Any other resource. @param {string} path */
  get: (path) => call("GET", path),
  /** @param {string} path @param {unknown} body */
  post: (path, body) => call("POST", path, body),
  /** @param {string} path @param {unknown} body */
  put: (path, body) => call("PUT", path, body),
  /** Where a plate's files are to be had. @param {string} id @param {string} what @param {Record<string, string>} [query] */
  href: (id, what, query = {}) =>
    `${plate(id)}/${what}${Object.keys(query).length ? `?${new URLSearchParams(query)}` : ""}`,
};
