/** Many readings at once: a table pasted from a spreadsheet, or a CSV file. */

import { h } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { fileChooser } from "../panels/filechooser.js";
import { Said, doing, taskButton, taskState } from "../steps/doing.js";
import { fold } from "../steps/parts.js";
import { UNITS, named, toolChoices } from "./entry.js";

const KEY = "readings-table";

/** @param {import("../steps/parts.js").Context} context */
export function pasted(context) {
  const { store, local } = context;
  const { document } = store.get();
  local.pasted ??= {
    text: "",
    tool: document.survey?.tools?.[0]?.id ?? DEFAULTS.Reading.tool,
    unit: store.get().unit,
  };
  const now = local.pasted;
  return fold(
    "Readings as a table",
    false,
    h(
      "p.quiet",
      {},
      "A line for each: point, point, value, and a unit and a tool if you like: A, B, 402.5. A line of titles may come first. Points that do not exist yet are added.",
    ),
    h("label", { for: "readings-text" }, "Paste the table"),
    h("textarea", {
      id: "readings-text",
      rows: 5,
      spellcheck: "false",
      "data-keep": "readings-text",
      value: now.text,
      oninput: (event) => {
        now.text = event.currentTarget.value;
      },
    }),
    h("label", { for: "readings-file" }, "Or open a CSV file"),
    fileField(context),
    named("readings-tool", "Tool, where the table names none ", "Tool of the table", now, "tool", toolChoices(document)),
    named("readings-unit", "Unit, where the table names none ", "Unit of the table", now, "unit", UNITS),
    h(
      "div.actions-row",
      {},
      taskButton(context, KEY, "Add these readings", () => addAll(context)),
    ),
    taskState(context, KEY, "Reading the table…"),
    local.pastedWords && h("p", { role: "status" }, local.pastedWords),
  );
}

/** A file is added at once. @param {import("../steps/parts.js").Context} context */
const fileField = (context) =>
  fileChooser({
    id: "readings-file",
    accept: ".csv,.tsv,.txt,text/csv",
    "data-keep": "readings-file",
    onchange: async (event) => {
      const file = event.currentTarget.files?.[0];
      if (!file) return;
      context.local.pasted.text = await file.text();
      context.again();
      void doing(context, KEY, () => addAll(context));
    },
  });

/** @param {import("../steps/parts.js").Context} context */
async function addAll({ api, store, actions, local }) {
  const { text, tool, unit } = local.pasted;
  local.pastedWords = "";
  if (!text.trim()) throw new Said("Paste a table first, or open a file.");
  const asked = store.get().document;
  const {
    document,
    readings,
    new_points: points,
  } = await api.post("/api/survey/readings", { document: asked, text, tool, unit });
  if (store.get().document !== asked) throw new Said("The plate was changed meanwhile. Add the readings again.");
  local.pasted.text = "";
  const added = `${readings.length} ${readings.length === 1 ? "reading" : "readings"}`;
  local.pastedWords = `${added} added${points.length ? `, with the new ${points.length === 1 ? "point" : "points"} ${points.join(", ")}` : ""}.`;
  actions.commit(document, `Add ${added}`);
}
