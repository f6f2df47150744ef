/** Talking to the server: the HTTP interface of `docs/http.md`, and nothing else. */

/** The server said no: its code, sentence and, for a document, what is wrong where. */
export class Refused extends Error {
  /** @param {number} status @param {any} body */
  constructor(status, body) {
    super(body?.error?.message ?? `The server answered ${status}.`);
    this.status = status;
    this.code = body?.error?.code ?? "unknown";
    this.faults = body?.error?.faults ?? [];
    this.body = body;
  }
}

/** The server is not there. */
export class Away extends Error {}

/**
 * @param {string} method @param {string} path @param {any} [body] @param {{signal?: AbortSignal}} [options]
 * @returns {Promise<any>}
 */
async function call(method, path, body, { signal } = {}) {
  let answer;
  try {
    answer = await fetch(path, {
      method,
      signal,
      headers: body === undefined ? {} : { "Content-Type": "application/json" },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
  } catch (error) {
    if (/** @type {Error} */ (error).name === "AbortError") throw error;
    throw new Away("The server does not answer.");
  }
  const isJson = (answer.headers.get("Content-Type") ?? "").includes("json");
  const content = isJson ? await answer.json().catch(() => null) : null;
  if (!answer.ok) throw new Refused(answer.status, content);
  return content;
}

const plate = (/** @type {string} */ id) => `/api/plates/${encodeURIComponent(id)}`;

export const api = {
  ping: () => call("GET", "/api/ping"),
  reference: () => call("GET", "/api/reference"),
  plates: () => call("GET", "/api/plates"),
  /** @param {any} what {document}, {example} or {start} */
  create: (what) => call("POST", "/api/plates", what),
  /** @param {string} id */
  open: (id) => call("GET", plate(id)),
  /** @param {string} id @param {number} base @param {any} document @param {string} label */
  save: (id, base, document, label) => call("PUT", plate(id), { base, document, label }),
  /** @param {string} id @param {number} base */
  undo: (id, base) => call("POST", `${plate(id)}/undo`, { base }),
  /** @param {string} id @param {number} base */
  redo: (id, base) => call("POST", `${plate(id)}/redo`, { base }),
  /** @param {string} id */
  remove: (id) => call("DELETE", plate(id)),
  /** @param {string} id */
  restore: (id) => call("POST", `${plate(id)}/restore`),
  /** @param {any} document @param {string[]} want @param {{quick?: boolean, ellipse_scale?: number}} [more] */
  look: (document, want, more = {}) => call("POST", "/api/look", { document, want, ...more }),
  /** Any other resource. @param {string} path */
  get: (path) => call("GET", path),
  /** @param {string} path @param {any} body */
  post: (path, body) => call("POST", path, body),
  /** @param {string} path @param {any} body */
  put: (path, body) => call("PUT", path, body),
  /** Where a plate's files are to be had. @param {string} id @param {string} what @param {Record<string, string>} [query] */
  href: (id, what, query = {}) =>
    `${plate(id)}/${what}${Object.keys(query).length ? `?${new URLSearchParams(query)}` : ""}`,
};
