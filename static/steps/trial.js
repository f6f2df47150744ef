/** Fit: what the test piece showed in the case, what that means, and the moves that would correct it. */

import { put } from "../model/edit.js";
import { restFits, withReading } from "../model/fitreadings.js";
import { h } from "../dom.js";
import { fileChooser } from "../panels/filechooser.js";
import { button, field } from "../panels/form.js";
import { focusField } from "../panels/whereto.js";
import { format } from "../model/quantity.js";
import { part, table } from "./parts.js";

/**
 * @typedef {import("../types.js").FitAnswer["moves"][0]} Move
 * @typedef {(change: () => void) => Promise<void>} Choose  changes what is chosen, and shows what that would bring
 */

/** In words which way a port should go. @param {number} dx @param {number} dy */
export function way(dx, dy) {
  const parts = [];
  if (Math.abs(dx) >= 0.005) parts.push(`${format(Math.abs(dx), "mm", 2)} mm to the ${dx > 0 ? "right" : "left"}`);
  if (Math.abs(dy) >= 0.005) parts.push(`${format(Math.abs(dy), "mm", 2)} mm to the ${dy > 0 ? "rear" : "front"}`);
  return parts.join(" and ") || "stays";
}

/** @param {import("./parts.js").Context} context */
export function trial(context) {
  const { store, actions, local } = context;
  const { document } = store.get();
  if (local.judgedFor && local.judgedFor !== document)
    Object.assign(local, { judged: null, applied: null, judgedFor: null });
  const ports = document.ports ?? [];
  return part(
    "What it showed",
    h(
      "p",
      {},
      "Try the piece in the case. For each port write how far it should move: to the right and to the rear are positive. 0 where it is right. Ports that you did not look at stay empty.",
    ),
    ports.length ? readings(context) : h("p.quiet", {}, "There is no port yet."),
    csv(context),
    h(
      "div.actions-row",
      {},
      button("Analyse fit", () => judge(context), {
        disabled: !(document.fit_readings ?? []).length,
        "data-keep": "judge",
      }),
      restFits(document) !== document &&
        button("The other ports fit", () => actions.edit("The other ports fit", restFits), {
          title: "0 to the right and 0 to the rear for every port that serves a tube and has no reading yet",
          "data-keep": "rest-fits",
        }),
    ),
    h("div", { role: "status" }, local.problem && h("p.problem", {}, local.problem), local.judged && meaning(context)),
  );
}

/** @param {import("./parts.js").Context} context */
function readings(context) {
  const { store, actions } = context;
  const { document, unit } = store.get();
  const given = new Map((document.fit_readings ?? []).map((r) => [r.port, r]));
  const cell = (/** @type {{id: string}} */ port, /** @type {"dx_mm"|"dy_mm"} */ key, /** @type {string} */ words) => {
    const value = given.get(port.id)?.[key];
    return field(
      {
        label: `${port.id} ${words}`,
        type: "length",
        least: -500,
        most: 500,
        optional: true,
        help: "Left and front are negative.",
      },
      value ?? null,
      {
        unit,
        keep: `fit-${port.id}-${key}`,
        given: value !== undefined,
        change: (next) =>
          actions.edit(`Fit reading of ${port.id}`, (d) => {
            const other = key === "dx_mm" ? "dy_mm" : "dx_mm";
            const kept = (d.fit_readings ?? []).find((r) => r.port === port.id)?.[other];
            return withReading(d, port.id, next === null && kept === undefined ? null : { [key]: next ?? undefined });
          }),
      },
    );
  };
  return h(
    "div.fit-readings",
    {},
    h("div.pair-row.pair-head", { "aria-hidden": "true" }, h("span", {}, "Port"), h("span", {}, "To the right"), h("span", {}, "To the rear")),
    (document.ports ?? []).map((port) =>
      h(
        "div.pair-row",
        { role: "group", "aria-label": `Port ${port.id}` },
        h("strong", { "aria-hidden": "true" }, port.id),
        cell(port, "dx_mm", "to the right"),
        cell(port, "dy_mm", "to the rear"),
      ),
    ),
  );
}

/** @param {import("./parts.js").Context} context */
function csv(context) {
  const chooser = fileChooser({
    accept: ".csv,text/csv",
    id: "fit-csv",
    onchange: async (event) => {
      const file = event.currentTarget.files?.[0];
      if (!file) return;
      const { local, api, store, actions, again } = context;
      try {
        const answer = await api.post("/api/fit", { document: store.get().document, csv: await file.text() });
        actions.edit("Take fit readings from a file", (d) => put(d, ["fit_readings"], answer.fit_readings));
        await take(context, answer);
      } catch (error) {
        local.problem = /** @type {Error} */ (error).message;
      }
      again();
    },
  });
  return h(
    "div.from-file",
    {},
    h("label", { for: "fit-csv" }, "Or take them from a CSV: port, dx_mm, dy_mm, note (dx_in, dy_in if read in inches)"),
    chooser,
  );
}

/** @param {import("./parts.js").Context} context */
async function judge(context) {
  const { local, api, store, again } = context;
  try {
    await take(context, await api.post("/api/fit", { document: store.get().document }));
  } catch (error) {
    local.problem = /** @type {Error} */ (error).message;
  }
  again();
}

/** Shows an answer about the document as it is; a move that is doubted is not chosen beforehand. @param {import("./parts.js").Context} context @param {import("../types.js").FitAnswer} judged */
async function take(context, judged) {
  const doubted = new Set(judged.doubted);
  Object.assign(context.local, {
    judged,
    judgedFor: context.store.get().document,
    problem: "",
    accepted: new Set(judged.moves.map((m) => m.port).filter((port) => !doubted.has(port))),
    whole: false,
    applied: null,
  });
  await preview(context);
}

/** What the accepted moves would bring. @param {import("./parts.js").Context} context */
async function preview({ local, api, store }) {
  local.applied = await api.post("/api/fit/apply", {
    document: store.get().document,
    accept: [...(local.accepted ?? [])],
    whole: local.whole === true,
  });
}

/** @param {import("./parts.js").Context} context */
function meaning(context) {
  const { local, again } = context;
  /** @type {import("../types.js").FitAnswer} */
  const judged = local.judged;
  /** @type {Choose} */
  const choose = async (change) => {
    change();
    await preview(context).catch((error) => {
      local.problem = error.message;
    });
    again();
  };
  return h(
    "div.meaning",
    {},
    judged.messages.map((words) => h("p", {}, words)),
    table(
      judged.whole.told ? "What is left at each port" : "What was read at each port",
      ["Port", "Right, mm", "Rear, mm", ""],
      judged.residuals.map((r) => [
        r.port,
        r.dx_mm === null ? "–" : format(r.dx_mm, "mm", 2),
        r.dy_mm === null ? "–" : format(r.dy_mm, "mm", 2),
        judged.moved_with[r.port] ? `moves with ${judged.moved_with[r.port]}` : r.suspect ? "this port is off on its own" : "",
      ]),
    ),
    judged.whole.stands_out &&
      choice("move-whole", "Move everything on the plate as a whole, too", local.whole, (on) =>
        choose(() => {
          local.whole = on;
        }),
      ),
    judged.moves.length
      ? h(
          "fieldset",
          {},
          h("legend", {}, "Proposed moves"),
          h(
            "ul.moves",
            {},
            judged.moves.map((move) => proposed(context, move, choose)),
          ),
        )
      : h("p", {}, "No port needs to move by itself."),
    brought(context, local.applied?.brings ?? []),
    (judged.moves.length > 0 || judged.whole.stands_out) && makeMoves(context),
  );
}

/** @param {string} keep @param {string} words @param {boolean} checked @param {(on: boolean) => void} change */
const choice = (keep, words, checked, change) =>
  h(
    "label.choice",
    {},
    h("input", { type: "checkbox", checked, "data-keep": keep, onchange: (e) => change(e.currentTarget.checked) }),
    ` ${words}`,
  );

/** A proposed move: whether it is chosen, what it moves with, whether it is doubted. @param {import("./parts.js").Context} context @param {Move} move @param {Choose} choose */
function proposed({ local }, move, choose) {
  /** @type {import("../types.js").FitAnswer} */
  const judged = local.judged;
  /** @type {Set<string>} */
  const accepted = local.accepted;
  const piece = judged.moved_with[move.port];
  const remarks = [piece && `with ${piece}`, judged.doubted.includes(move.port) && "read it again first"].filter(
    Boolean,
  );
  const words = `${move.port}: ${way(move.dx_mm, move.dy_mm)}${remarks.length ? ` (${remarks.join("; ")})` : ""}`;
  return h(
    "li",
    {},
    choice(`move-${move.port}`, words, accepted.has(move.port), (on) =>
      choose(() => (on ? accepted.add(move.port) : accepted.delete(move.port))),
    ),
  );
}

/** Findings that the chosen moves would bring, and how channels are brought after them. @param {import("./parts.js").Context} context @param {import("../types.js").Finding[]} brings */
function brought({ store, actions }, brings) {
  const channels = new Set((store.get().document.channels ?? []).map(({ id }) => id));
  const crossed = brings.some(({ level, items }) => level === "error" && items.some((id) => channels.has(id)));
  const again = () => {
    actions.step("channels");
    focusField("wish-anew");
  };
  return (
    brings.length > 0 &&
    h(
      "div.brings",
      {},
      h("p", {}, "The chosen moves would bring:"),
      h(
        "ul",
        {},
        brings.map((f) => h(`li.finding-${f.level}`, {}, `${f.level}: ${f.message}`)),
      ),
      crossed &&
        h(
          "p",
          {},
          "After the moves the channels can be laid again: tick “Lay drawn channels again” in ",
          button("Run channels", again, { class: "link", "data-keep": "lay-again" }),
          " and search.",
        ),
    )
  );
}

/** @param {import("./parts.js").Context} context */
function makeMoves({ local, actions }) {
  const { applied } = local;
  return button(
    "Make the chosen moves",
    () => {
      if (!applied) return;
      const next = put(applied.document, ["fit_readings"], undefined);
      Object.assign(local, { judged: null, applied: null, judgedFor: null });
      actions.commit(next, "Move ports as the test piece showed");
    },
    { disabled: !applied || (local.accepted.size === 0 && !local.whole), "data-keep": "make-moves" },
  );
}
