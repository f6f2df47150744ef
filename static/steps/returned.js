/** A drawing that came back from the shop, compared with the one that was sent. */

import { h } from "../dom.js";
import { format } from "../model/quantity.js";
import { send } from "../server/api.js";
import { fileChooser } from "../panels/filechooser.js";
import { fold, table } from "./parts.js";

/** A drawing that came back from the shop, compared with ours. @param {import("./parts.js").Context} context */
export function returnedFile({ api, store, local, again }) {
  const chooser = fileChooser({
    accept: ".dxf,.svg,.step,.stp",
    id: "came-back",
    onchange: async (event) => {
      const file = event.currentTarget.files?.[0];
      if (!file) return;
      const ending = file.name.toLowerCase().split(".").pop() ?? "";
      const kind = { svg: "svg", step: "step", stp: "step" }[ending] ?? "dxf";
      const to = api.href(store.get().plate?.id ?? "", "returned", { kind });
      const { ok, content } = await send("POST", to, file).catch(() => ({ ok: false, content: null }));
      Object.assign(
        local,
        ok
          ? { returned: content, returnedProblem: "" }
          : { returned: null, returnedProblem: content?.error?.message ?? "The server does not answer." },
      );
      again();
    },
  });
  const rows = local.returned?.rows ?? [];
  return fold(
    "Compare a returned file",
    false,
    h("p", {}, "Compare what the shop sent back with what you sent: same ports, what was added, what moved."),
    h("div.from-file", {}, h("label", { for: "came-back" }, "DXF, SVG or STEP from the shop"), chooser),
    h(
      "div",
      { role: "status" },
      local.returnedProblem && h("p.problem", {}, local.returnedProblem),
      local.returned && [
        h("p", {}, `Compared with the sheet ${local.returned.sheet}: ${counted(local.returned.counts) || "nothing alike"}.`),
        local.returned.messages.map((/** @type {string} */ words) => h("p", {}, words)),
        rows.length > 0 &&
          table(
            "Differences",
            ["What", "Item", "At, mm", "How"],
            rows
              .slice(0, 60)
              .map((/** @type {{what: string, item: string, at: number[], words: string}} */ row) => [
                row.what,
                row.item || "—",
                row.at.map((v) => format(v, "mm", 2)).join(", "),
                row.words,
              ]),
          ),
      ],
    ),
  );
}

/** @param {Record<string, number>} counts */
const counted = (counts) =>
  Object.entries(counts)
    .filter(([, n]) => n)
    .map(([what, n]) => `${n} ${what}`)
    .join(", ");
