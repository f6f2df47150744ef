/** Revisions: kept states of the plate, compared with one another, and gone back to. */

import { adopted, h } from "../dom.js";
import { button, field } from "../panels/form.js";
import { fold, table } from "./parts.js";

/** @typedef {{id: string, what: string, words: string}} Changed  one row of a comparison */

/** Asks the server for the plate's revisions. @param {import("./parts.js").Context} context */
export async function fetchRevisions({ api, store }) {
  const { plate } = store.get();
  if (!plate) return;
  const { revisions } = await api.get(api.href(plate.id, "revisions"));
  store.set({ revisions });
}

/** @param {import("./parts.js").Context} context @param {"test-piece"|"hand-off"} kind @param {string} usual what a new one is called */
export function revisions(context, kind, usual) {
  const { store, local, again, api } = context;
  const { revisions: kept, plate, unit } = store.get();
  if (plate && local.askedFor !== plate.id) {
    local.askedFor = plate.id;
    fetchRevisions(context)
      .catch((error) => {
        local.revisionProblem = error.message;
      })
      .finally(again);
  }
  const count = (kept ?? []).length;
  const pieces = (kept ?? []).filter((r) => r.kind === kind).length;
  local.label ??= `${usual} ${pieces + 1}`;
  const words = (/** @type {string} */ key, /** @type {string} */ label, /** @type {string} */ help) =>
    field({ label, type: "text", most: key === "label" ? 40 : 2000, help }, local[key] ?? "", {
      unit,
      keep: `revision-${key}`,
      change: (next) => {
        local[key] = next ?? "";
      },
    });
  return fold(
    "Revisions",
    true,
    h("p.quiet", {}, "A revision keeps the plate as it is now. Its label is scored into what is cut from it."),
    h(
      "div.fields",
      {},
      words("label", "Label", "Short: it is cut into the piece."),
      words("reason", "Reason", "Why this state is kept: what was tried, what had changed."),
    ),
    h(
      "div.actions-row",
      {},
      button(
        `Keep as ${usual}`,
        async () => {
          if (!plate) return;
          try {
            await api.post(api.href(plate.id, "revisions"), { label: local.label, reason: local.reason ?? "", kind });
            await fetchRevisions(context);
            Object.assign(local, { label: undefined, reason: "", revisionProblem: "" });
          } catch (error) {
            local.revisionProblem = /** @type {Error} */ (error).message;
          }
          again();
        },
        { "data-keep": "keep-revision" },
      ),
    ),
    h("div", { role: "status" }, local.revisionProblem && h("p.problem", {}, local.revisionProblem)),
    count > 0 &&
      h(
        "ol.revisions",
        { reversed: "" },
        [...kept].reverse().map((revision) => one(context, revision)),
      ),
    local.compared && compared(context),
  );
}

/** @param {import("./parts.js").Context} context @param {import("../types.js").Revision} revision */
function one(context, revision) {
  const { api, store, actions, local, again } = context;
  const id = store.get().plate?.id ?? "";
  const number = String(revision.number);
  const at = (/** @type {string} */ what) => api.href(id, `revisions/${number}${what}`);
  const cut =
    revision.kind === "hand-off"
      ? { words: "Package", href: api.href(id, "handoff", { revision: number }) }
      : {
          words: "Test piece",
          href: api.href(id, "export", { sheet: "test-piece", format: "dxf", revision: number }),
        };
  return h(
    "li.revision",
    { value: String(revision.number) },
    h("strong", {}, revision.label),
    " ",
    h("time", { datetime: revision.made }, revision.made.slice(0, 16).replace("T", " ")),
    revision.reason && h("p.quiet", {}, revision.reason),
    h(
      "div.actions-row",
      {},
      h("a.button", { href: cut.href, download: "" }, cut.words),
      button(
        "Compare with now",
        async () => {
          try {
            local.compared = { label: revision.label, ...(await api.get(at("/compare/now"))) };
            local.revisionProblem = "";
          } catch (error) {
            local.revisionProblem = /** @type {Error} */ (error).message;
          }
          again();
        },
        { "data-keep": `compare-${revision.number}` },
      ),
      button(
        "Restore it",
        async () => {
          const { document } = await api.get(at(""));
          actions.commit(document, `Restore ${revision.label}`);
        },
        { "data-keep": `back-${revision.number}` },
      ),
    ),
  );
}

/** @param {import("./parts.js").Context} context */
function compared({ local, again }) {
  const { label, table: rows, svg } = local.compared;
  return h(
    "section.compared",
    { "aria-label": "Comparison" },
    h("h4", {}, `${label} against now`),
    svg && h("figure.overlay-figure", {}, adopted(svg)),
    rows.length
      ? table(
          "What is different",
          ["Item", "What", "How"],
          rows.map((/** @type {Changed} */ row) => [row.id, row.what, row.words]),
        )
      : h("p", {}, "Nothing is different."),
    button("Close", () => {
      local.compared = null;
      again();
    }),
  );
}
