/** Fit: what the test piece showed in the case, what that means, and the moves that would mend it. */

import { put } from "../model/edit.js";
import { h } from "../dom.js";
import { button, field } from "../panels/form.js";
import { format } from "../model/quantity.js";
import { part, table } from "./parts.js";

/** The fit readings of a document with one port's changed or taken out. @param {any} document @param {string} port @param {any|null} change */
export function withReading(document, port, change) {
  const readings = document.fit_readings ?? [];
  const old = readings.find((/** @type {any} */ r) => r.port === port);
  const rest = readings.filter((/** @type {any} */ r) => r.port !== port);
  const next = change === null ? rest : [...rest, { port, ...old, ...change }];
  return put(document, ["fit_readings"], next.length ? next : undefined);
}

/** In words which way a port should go. @param {number} dx @param {number} dy */
export function way(dx, dy) {
  const parts = [];
  if (Math.abs(dx) >= 0.005) parts.push(`${format(Math.abs(dx), "mm", 2)} mm to the ${dx > 0 ? "right" : "left"}`);
  if (Math.abs(dy) >= 0.005) parts.push(`${format(Math.abs(dy), "mm", 2)} mm to the ${dy > 0 ? "rear" : "front"}`);
  return parts.join(" and ") || "stays";
}

/** @param {import("./parts.js").Context} context */
export function fit(context) {
  const { store, local } = context;
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
      "div.doings",
      {},
      button("What does it mean?", () => judge(context), {
        disabled: !(document.fit_readings ?? []).length,
        "data-keep": "judge",
      }),
    ),
    h("div", { role: "status" }, local.problem && h("p.problem", {}, local.problem), local.judged && meaning(context)),
  );
}

/** @param {import("./parts.js").Context} context */
function readings(context) {
  const { store, actions } = context;
  const { document, unit } = store.get();
  const given = new Map((document.fit_readings ?? []).map((/** @type {any} */ r) => [r.port, r]));
  const cell = (/** @type {any} */ port, /** @type {string} */ key, /** @type {string} */ words) => {
    const value = /** @type {any} */ (given.get(port.id))?.[key];
    return field(
      /** @type {any} */ ({
        label: `${port.id} ${words}`,
        type: "length",
        least: -500,
        most: 500,
        optional: true,
        help: "Left and front are negative.",
      }),
      value ?? null,
      {
        unit,
        keep: `fit-${port.id}-${key}`,
        given: value !== undefined,
        change: (next) =>
          actions.edit(`Fit reading of ${port.id}`, (/** @type {any} */ d) => {
            const other = key === "dx_mm" ? "dy_mm" : "dx_mm";
            const kept = (d.fit_readings ?? []).find((/** @type {any} */ r) => r.port === port.id)?.[other];
            return withReading(d, port.id, next === null && kept === undefined ? null : { [key]: next ?? undefined });
          }),
      },
    );
  };
  return h(
    "div.fit-readings",
    {},
    (document.ports ?? []).map((/** @type {any} */ port) =>
      h(
        "div.fit-port",
        { role: "group", "aria-label": `Port ${port.id}` },
        cell(port, "dx_mm", "to the right"),
        cell(port, "dy_mm", "to the rear"),
      ),
    ),
  );
}

/** @param {import("./parts.js").Context} context */
function csv(context) {
  const input = h("input", {
    type: "file",
    accept: ".csv,text/csv",
    id: "fit-csv",
    onchange: async () => {
      const file = input.files?.[0];
      if (!file) return;
      const { local, api, store, actions, again } = context;
      try {
        const answer = await api.post("/api/fit", { document: store.get().document, csv: await file.text() });
        actions.edit("Take fit readings from a file", (/** @type {any} */ d) =>
          put(d, ["fit_readings"], answer.fit_readings),
        );
        Object.assign(local, { problem: "", judged: answer, judgedFor: store.get().document });
      } catch (error) {
        local.problem = /** @type {Error} */ (error).message;
      }
      again();
    },
  });
  return h(
    "div.from-file",
    {},
    h("label", { for: "fit-csv" }, "Or take them from a CSV: port, dx_mm, dy_mm, note"),
    input,
  );
}

/** @param {import("./parts.js").Context} context */
async function judge(context) {
  const { local, api, store, again } = context;
  const { document } = store.get();
  try {
    const judged = await api.post("/api/fit", { document });
    Object.assign(local, {
      judged,
      judgedFor: document,
      problem: "",
      accepted: new Set(judged.moves.map((/** @type {any} */ m) => m.port)),
      whole: false,
      applied: null,
    });
    await preview(context);
  } catch (error) {
    local.problem = /** @type {Error} */ (error).message;
  }
  again();
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
  const { local, again, actions } = context;
  const { judged, applied } = local;
  local.accepted ??= new Set(judged.moves.map((/** @type {any} */ m) => m.port));
  const choose = async (/** @type {() => void} */ change) => {
    change();
    await preview(context).catch((error) => {
      local.problem = error.message;
    });
    again();
  };
  const moves = judged.moves.map((/** @type {any} */ move) =>
    h(
      "li",
      {},
      h(
        "label.choice",
        {},
        h("input", {
          type: "checkbox",
          checked: local.accepted.has(move.port),
          "data-keep": `move-${move.port}`,
          onchange: (/** @type {any} */ e) =>
            choose(() => (e.target.checked ? local.accepted.add(move.port) : local.accepted.delete(move.port))),
        }),
        ` ${move.port}: ${way(move.dx_mm, move.dy_mm)}`,
      ),
    ),
  );
  const brings = applied?.brings ?? [];
  return h(
    "div.meaning",
    {},
    judged.messages.map((/** @type {string} */ words) => h("p", {}, words)),
    table(
      "What is left at each port",
      ["Port", "Right, mm", "Rear, mm", ""],
      judged.residuals.map((/** @type {any} */ r) => [
        r.port,
        r.dx_mm === null ? "–" : format(r.dx_mm, "mm", 2),
        r.dy_mm === null ? "–" : format(r.dy_mm, "mm", 2),
        r.suspect ? "wrong in itself" : "",
      ]),
    ),
    judged.whole?.stands_out &&
      h(
        "label.choice",
        {},
        h("input", {
          type: "checkbox",
          checked: local.whole,
          "data-keep": "move-whole",
          onchange: (/** @type {any} */ e) =>
            choose(() => {
              local.whole = e.target.checked;
            }),
        }),
        " Move everything on the plate as a whole, too",
      ),
    moves.length
      ? h("fieldset", {}, h("legend", {}, "Proposed moves"), h("ul.moves", {}, moves))
      : h("p", {}, "No port needs to move by itself."),
    brings.length > 0 &&
      h(
        "div.brings",
        {},
        h("p", {}, "The chosen moves would bring:"),
        h(
          "ul",
          {},
          brings.map((/** @type {any} */ f) => h(`li.finding-${f.level}`, {}, `${f.level}: ${f.message}`)),
        ),
      ),
    (moves.length > 0 || judged.whole?.stands_out) &&
      button(
        "Make the chosen moves",
        () => {
          if (!applied) return;
          const next = put(applied.document, ["fit_readings"], undefined);
          Object.assign(local, { judged: null, applied: null, judgedFor: null });
          actions.commit(next, "Move ports as the test piece showed");
        },
        { disabled: !applied || (local.accepted.size === 0 && !local.whole), "data-keep": "make-moves" },
      ),
  );
}
