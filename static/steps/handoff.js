/** Hand off: the seal and the screws, what may stand, and the files for the shop. */

import { h } from "../dom.js";
import { add, put, remove } from "../model/edit.js";
import { button, field } from "../panels/form.js";
import { format } from "../model/quantity.js";
import { revisions } from "./revisions.js";
import { cautions, documentField, fold, part, table } from "./parts.js";
import { files } from "./testpiece.js";

/** @type {any[]} */
const SEAL = [
  {
    path: ["seal", "kind"],
    label: "Made tight by",
    type: "choice",
    usual: "cord",
    options: [
      ["cord", "A cord"],
      ["gasket", "A gasket"],
      ["bonded", "A bond"],
    ],
    help: "A bonded lid has no groove and cannot be opened again.",
  },
  { path: ["seal", "cord_mm"], label: "Cord", type: "length", above: 0, usual: 2, help: "Diameter of its section." },
  {
    path: ["seal", "squeeze_percent"],
    label: "Squeeze",
    type: "percent",
    least: 5,
    most: 40,
    usual: 25,
    help: "How much of its section is pressed away: 20 to 30 % is usual for a face seal.",
  },
  {
    path: ["seal", "wall_mm"],
    label: "Wall beside the groove",
    type: "length",
    above: 0,
    usual: 2,
    help: "Between groove and water, and beyond it.",
  },
  {
    path: ["seal", "screw"],
    label: "Lid screws",
    type: "choice",
    usual: "M4",
    options: [
      ["M3", "M3"],
      ["M4", "M4"],
      ["M5", "M5"],
    ],
    help: "Metric coarse.",
  },
  {
    path: ["seal", "screw_pitch_mm"],
    label: "Screw pitch",
    type: "length",
    above: 0,
    usual: 40,
    help: "From screw to screw along the groove.",
  },
];

/** Holes for the lid's screws, placed by rule, become one edit. @param {import("./parts.js").Context} context @param {boolean} anew */
async function placeScrews({ api, store, actions, local, again }, anew) {
  try {
    const { holes } = await api.post("/api/screws", { document: store.get().document, anew });
    local.screwProblem = holes.length ? "" : "No screw found a place. The findings say why.";
    actions.edit("Place the lid screws", (/** @type {any} */ d) => {
      const old = anew
        ? (d.holes ?? [])
            .filter((/** @type {any} */ hole) => hole.use === "lid" && !hole.locked)
            .map((/** @type {any} */ hole) => hole.id)
        : [];
      return holes.reduce(
        (/** @type {any} */ next, /** @type {any} */ hole) => add(next, "hole", hole).document,
        old.length ? remove(d, old) : d,
      );
    });
  } catch (error) {
    local.screwProblem = /** @type {Error} */ (error).message;
  }
  again();
}

/** What the seal comes to. @param {any} seal */
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

/** Findings that are let stand, with the reason for each. @param {import("./parts.js").Context} context */
function standing({ store, actions }) {
  const { look, unit } = store.get();
  const open = (look?.findings ?? []).filter((/** @type {any} */ f) => f.level !== "note" || f.accepted);
  if (!open.length) return h("p.quiet", {}, "Nothing is open.");
  const same = (/** @type {any} */ a, /** @type {any} */ f) =>
    a.rule === f.rule && [...a.items].sort().join() === [...f.items].sort().join();
  return h(
    "div.standing",
    {},
    open.map((/** @type {any} */ f) =>
      field(
        /** @type {any} */ ({
          label: `Why “${f.message}” may stand`,
          type: "text",
          most: 2000,
          optional: true,
          help: `${f.mend} With a reason here it no longer stands in the way, and the reason goes to the shop.`,
        }),
        f.accepted || null,
        {
          unit,
          keep: `stand-${f.rule}-${f.items.join("-")}`,
          given: Boolean(f.accepted),
          change: (reason) =>
            actions.edit("Let a finding stand", (/** @type {any} */ d) => {
              const rest = (d.accepted ?? []).filter((/** @type {any} */ a) => !same(a, f));
              const next =
                reason && reason.trim().length > 2
                  ? [...rest, { rule: f.rule, items: f.items, reason: reason.trim() }]
                  : rest;
              return put(d, ["accepted"], next.length ? next : undefined);
            }),
        },
      ),
    ),
  );
}

/** A drawing that came back from the shop, compared with ours. @param {import("./parts.js").Context} context */
function cameBack({ api, store, local, again }) {
  const input = h("input", {
    type: "file",
    accept: ".dxf,.svg",
    id: "came-back",
    onchange: async () => {
      const file = input.files?.[0];
      if (!file) return;
      const kind = file.name.toLowerCase().endsWith(".svg") ? "svg" : "dxf";
      const answer = await fetch(api.href(store.get().plate.id, "returned", { kind }), {
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
    "A file that came back",
    false,
    h("p", {}, "Compare what the shop sent back with what you sent: same ports, what was added, what moved."),
    h("div.from-file", {}, h("label", { for: "came-back" }, "DXF or SVG from the shop"), input),
    h(
      "div",
      { role: "status" },
      local.returnedProblem && h("p.problem", {}, local.returnedProblem),
      local.returned && [
        local.returned.messages.map((/** @type {string} */ words) => h("p", {}, words)),
        rows.length > 0 &&
          table(
            "What is not as it was",
            ["What", "Item", "At, mm", "How"],
            rows
              .slice(0, 60)
              .map((/** @type {any} */ row) => [
                row.what,
                row.item || "—",
                row.at.map((/** @type {number} */ v) => format(v, "mm", 2)).join(", "),
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
  const { document, look } = store.get();
  const screws = (document.holes ?? []).filter((/** @type {any} */ hole) => hole.use === "lid").length;
  return [
    fold(
      "Seal and lid",
      true,
      sealing(look?.seal),
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
        "div.doings",
        {},
        button(screws ? "Fill the gaps by rule" : "Place them by rule", () => placeScrews(context, false), {
          "data-keep": "screws-fill",
        }),
        screws > 0 && button("Place all anew", () => placeScrews(context, true), { "data-keep": "screws-anew" }),
      ),
      h("div", { role: "status" }, local.screwProblem && h("p.problem", {}, local.screwProblem)),
    ),
    fold("What may stand", (look?.counts?.error ?? 0) > 0, standing(context)),
    part(
      "Files for the shop",
      h("p", {}, "One pack: the final sheet, the drawing, hole table, parts list, findings and the plate itself."),
      h(
        "div.doings",
        {},
        button("Pack the hand-off", () => fetchPack(context), { "data-keep": "pack" }),
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
    cameBack(context),
    cautions(context, ["assemble", "fill", "test", "power"]),
  ];
}
