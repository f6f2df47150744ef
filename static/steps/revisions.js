/** Revisions: kept states of the plate, compared with one another, and gone back to. */

import { adopted, h } from "../dom.js";
import { button, field } from "../panels/form.js";
import { fileLink, shownState, taskButton, taskState } from "./doing.js";
import { fold, table } from "./parts.js";

/** @typedef {{id: string, what: string, words: string}} Changed  one row of a comparison */

/** Asks the server for the plate's revisions. @param {Pick<import("./parts.js").Context, "api"|"store">} parts @param {string} [id] of a plate that is being opened */
export async function fetchRevisions({ api, store }, id = store.get().plate?.id ?? "") {
  if (!id) return;
  const { revisions } = await api.get(api.href(id, "revisions"));
  // Another plate may be open by now.
  if (String(store.get().plate?.id ?? id) === String(id)) store.set({ revisions });
}

/** @param {import("./parts.js").Context} context @param {"test-piece"|"hand-off"} kind @param {string} usual what a new one is called @param {import("../types.js").Props} [more] of the button that keeps one */
export function revisions(context, kind, usual, more = {}) {
  const { store, local, again } = context;
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
      taskButton(context, "keep-revision", `Keep as ${usual}`, () => keepRevision(context, kind), more),
    ),
    taskState(
      context,
      "keep-revision",
      kind === "hand-off" ? "Keeping the plate with all its files, solids too…" : "Keeping the plate with its files…",
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

/** Keeps the plate as it is shown. @param {import("./parts.js").Context} context @param {"test-piece"|"hand-off"} kind */
export async function keepRevision(context, kind) {
  const { api, store, local } = context;
  const { id, state } = await shownState(context);
  const asked = store.get().document;
  await api.post(api.href(id, "revisions"), { label: local.label, reason: local.reason ?? "", kind, state });
  await fetchRevisions(context);
  Object.assign(local, { label: undefined, reason: "", revisionProblem: "", keptOf: asked });
}

/** Whether the plate as it is shown was kept just now. @param {import("./parts.js").Context} context */
export const isKept = ({ store, local }) => local.keptOf === store.get().document;

/** @param {import("./parts.js").Context} context @param {import("../types.js").Revision} revision */
function one(context, revision) {
  const { api, store, actions, local, again } = context;
  const id = store.get().plate?.id ?? "";
  const number = String(revision.number);
  const at = (/** @type {string} */ what) => api.href(id, `revisions/${number}${what}`);
  const label = revision.label;
  const options = { key: `revision-${number}`, keep: `revision-file-${number}` };
  const file =
    revision.kind === "hand-off"
      ? fileLink(context, "Package", "handoff", { revision: number }, { ...options, label: `Package of ${label}` })
      : fileLink(
          context,
          "Test piece",
          "export",
          { sheet: "test-piece", format: "dxf", revision: number },
          { ...options, label: `Test piece of ${label}` },
        );
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
      file,
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
    taskState(context, options.key, "Making the file…"),
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
