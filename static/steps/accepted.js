/** Findings that are accepted, with the reason for each. */

import { h } from "../dom.js";
import { put } from "../model/edit.js";
import { field } from "../panels/form.js";

/** Findings that are accepted, with the reason for each. @param {import("./parts.js").Context} context */
export function acceptedFindings({ store, actions }) {
  const { answer, unit } = store.get();
  const open = (answer?.findings ?? []).filter((f) => f.level !== "note" || f.accepted);
  if (!open.length) return h("p.quiet", {}, "Nothing is open.");
  const same = (
    /** @type {import("../format_types.js").Acceptance} */ a,
    /** @type {import("../types.js").Finding} */ f,
  ) => a.rule === f.rule && [...a.items].sort().join() === [...f.items].sort().join();
  return h(
    "div.accepted",
    {},
    open.map((f) =>
      field(
        {
          label: `Reason for accepting “${f.message}”`,
          type: "text",
          most: 2000,
          optional: true,
          help: `${f.mend} With a reason it no longer blocks the hand-off, and the reason goes to the shop.`,
        },
        f.accepted || null,
        {
          unit,
          keep: `stand-${f.rule}-${f.items.join("-")}`,
          given: Boolean(f.accepted),
          change: (value) =>
            actions.edit("Accept a finding", (d) => {
              const reason = String(value ?? "").trim();
              const rest = (d.accepted ?? []).filter((a) => !same(a, f));
              const next = reason.length > 2 ? [...rest, { rule: f.rule, items: f.items, reason }] : rest;
              return put(d, ["accepted"], next.length ? next : undefined);
            }),
        },
      ),
    ),
  );
}
