/** Hand off: the seal and the screws, accepted findings, and the files for the shop. */

import { h } from "../dom.js";
import { among, fieldOf } from "../panels/fields.js";
import { add, put, remove } from "../model/edit.js";
import { button, field } from "../panels/form.js";
import { format } from "../model/quantity.js";
import { revisions } from "./revisions.js";
import { sureness } from "./sureness.js";
import { cautions, documentField, fold, part, table } from "./parts.js";
import { files } from "./testpiece.js";

/** Sizes that fit a lid. */
const LID_SCREWS = ["M3", "M4", "M5"];
const at = ["seal"];

/**
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

const SEAL = [
  fieldOf("Seal", "kind", "A bonded lid has no groove and cannot be opened again.", { at }),
  fieldOf("Seal", "cord_mm", "Diameter of its section.", { at }),
  fieldOf("Seal", "squeeze_percent", "How much of its section is pressed away: 20 to 30 % is usual for a face seal.", {
    at,
  }),
  fieldOf("Seal", "wall_mm", "Between groove and coolant, and beyond it.", { at }),
  fieldOf("Seal", "screw", "Metric coarse.", { at, ...among(LID_SCREWS) }),
  fieldOf("Seal", "screw_pitch_mm", "From screw to screw along the groove.", { at }),
];

/** Holes for the lid's screws, become one edit. @param {import("./parts.js").Context} context @param {boolean} anew */
async function placeScrews({ api, store, actions, local, again }, anew) {
  try {
    const { holes } = await api.post("/api/screws", { document: store.get().document, anew });
    local.screwProblem = holes.length ? "" : "No screw found a place. The findings say why.";
    actions.edit("Place the lid screws", (d) => {
      const old = anew
        ? (d.holes ?? []).filter((hole) => hole.use === "lid" && !hole.locked).map((hole) => hole.id)
        : [];
      return holes.reduce(
        (/** @type {PlateDocument} */ next, /** @type {Omit<Item, "id">} */ hole) => add(next, "hole", hole).document,
        old.length ? remove(d, old) : d,
      );
    });
  } catch (error) {
    local.screwProblem = /** @type {Error} */ (error).message;
  }
  again();
}

/** What the seal comes to. @param {import("../types.js").SealAnswer|null|undefined} seal */
function sealing(seal) {
  if (!seal) return h("p.quiet", {}, "…");
  if (seal.problem) return h("p.problem", {}, seal.problem);
  if (seal.kind !== "cord" || !seal.gland) return null;
  const { gland } = seal;
  return h(
    "dl.facts",
    {},
    h("dt", {}, "Groove"),
    h("dd", {}, `${format(gland.width_mm, "mm", 2)} mm wide, ${format(gland.depth_mm, "mm", 2)} mm deep`),
    h("dt", {}, "Cord"),
    h(
      "dd",
      {},
      `${format((seal.cord_length_mm ?? 0) / 1000, "mm", 2)} m in ${seal.loops.length} piece${seal.loops.length === 1 ? "" : "s"}`,
    ),
    seal.missing.length > 0 && [
      h("dt", {}, "Missing"),
      h("dd", {}, `${seal.missing.length} wall${seal.missing.length === 1 ? "" : "s"}: see the findings`),
    ],
  );
}

/** @param {import("./parts.js").Context} context */
async function fetchPack(context) {
  const { api, store, local, again } = context;
  const { plate } = store.get();
  if (!plate) return;
  const answer = await fetch(api.href(plate.id, "handoff"));
  if (answer.ok) {
    const link = h("a", {
      href: URL.createObjectURL(await answer.blob()),
      download: /filename="([^"]+)"/.exec(answer.headers.get("Content-Disposition") ?? "")?.[1] ?? "hand-off.zip",
    });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
    local.packProblem = "";
  } else {
    local.packProblem = (await answer.json().catch(() => null))?.error?.message ?? "The server does not answer.";
  }
  again();
}

/** Findings that are accepted, with the reason for each. @param {import("./parts.js").Context} context */
function acceptedFindings({ store, actions }) {
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

/** A drawing that came back from the shop, compared with ours. @param {import("./parts.js").Context} context */
function returnedFile({ api, store, local, again }) {
  const input = h("input", {
    type: "file",
    accept: ".dxf,.svg,.step,.stp",
    id: "came-back",
    onchange: async () => {
      const file = input.files?.[0];
      if (!file) return;
      const ending = file.name.toLowerCase().split(".").pop() ?? "";
      const kind = { svg: "svg", step: "step", stp: "step" }[ending] ?? "dxf";
      const answer = await fetch(api.href(store.get().plate?.id ?? "", "returned", { kind }), {
        method: "POST",
        headers: { "Content-Type": "application/octet-stream" },
        body: file,
      }).catch(() => null);
      const found = await answer?.json().catch(() => null);
      Object.assign(
        local,
        answer?.ok
          ? { returned: found, returnedProblem: "" }
          : { returned: null, returnedProblem: found?.error?.message ?? "The server does not answer." },
      );
      again();
    },
  });
  const rows = local.returned?.rows ?? [];
  return fold(
    "Compare a returned file",
    false,
    h("p", {}, "Compare what the shop sent back with what you sent: same ports, what was added, what moved."),
    h("div.from-file", {}, h("label", { for: "came-back" }, "DXF, SVG or STEP from the shop"), input),
    h(
      "div",
      { role: "status" },
      local.returnedProblem && h("p.problem", {}, local.returnedProblem),
      local.returned && [
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

/** @param {import("./parts.js").Context} context */
export function handOff(context) {
  const { store, local } = context;
  const { document, answer } = store.get();
  const screws = (document.holes ?? []).filter((hole) => hole.use === "lid").length;
  return [
    fold(
      "Seal and lid",
      true,
      sealing(answer?.seal),
      h(
        "div.fields",
        {},
        SEAL.map((f) => documentField(context, f)),
      ),
    ),
    part(
      "Lid screws",
      h("p", {}, screws ? `${screws} screws hold the lid.` : "No screw holds the lid yet."),
      h(
        "div.actions-row",
        {},
        button(screws ? "Add missing screws" : "Place the screws", () => placeScrews(context, false), {
          "data-keep": "screws-fill",
        }),
        screws > 0 && button("Re-place all screws", () => placeScrews(context, true), { "data-keep": "screws-anew" }),
      ),
      h("div", { role: "status" }, local.screwProblem && h("p.problem", {}, local.screwProblem)),
    ),
    sureness(context),
    fold("Accepted findings", (answer?.counts?.error ?? 0) > 0, acceptedFindings(context)),
    part(
      "Files for the shop",
      h("p", {}, "One package: the final sheet, the drawing, hole table, parts list, findings and the plate itself."),
      h(
        "div.actions-row",
        {},
        button("Download shop package (.zip)", () => fetchPack(context), { "data-keep": "pack" }),
      ),
      h("div", { role: "status" }, local.packProblem && h("p.problem", {}, local.packProblem)),
      h("h4", {}, "Or one by one"),
      files(context, "final", [
        ["dxf", "DXF for milling"],
        ["pdf", "PDF at true size"],
        ["svg", "SVG"],
      ]),
    ),
    revisions(context, "hand-off", "hand-off"),
    returnedFile(context),
    cautions(context, ["assemble", "fill", "test", "power"]),
  ];
}
