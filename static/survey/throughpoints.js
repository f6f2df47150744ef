/** What is drawn through the points: the floor, obstacles, openings; and the tools that the readings were taken with. */

import { focusOn, h } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { button } from "../panels/form.js";
import { QuantityError, format, parseQuantity } from "../model/quantity.js";
import {
  addTool,
  changeOutline,
  changeTool,
  cornersFault,
  idsIn,
  readyToDraw,
  removeOutline,
  surveyOf,
} from "./edits.js";
import { WHAT, freshOutline, lackOf, withDiameter } from "./freshoutline.js";
import { typed } from "./typed.js";

/** @param {import("../steps/parts.js").Context} context */
export function outlines(context) {
  const { store, actions, api, ask } = context;
  const { document, answer } = store.get();
  const survey = surveyOf(document);
  if (survey.points.length < 3) return h("p.quiet", {}, "Three points make an outline.");
  const loose = (answer?.survey?.points ?? []).filter((p) => p.loose).map((p) => p.id);
  return [
    survey.outlines.length > 0 &&
      h(
        "ul.survey-outlines",
        {},
        survey.outlines.map((o) => one(context, o)),
      ),
    freshOutline(context),
    survey.outlines.length > 0 &&
      h(
        "div.actions-row",
        {},
        button(
          "Draw the floor from these readings",
          () => {
            const lack = survey.outlines.map((o) => lackOf(document, o)).find(Boolean);
            if (lack) {
              actions.say(lack.words);
              focusOn(`[data-keep="${lack.keep}"]`);
              return null;
            }
            return ask("The floor", async () => {
              const answer = await api.post("/api/survey/apply", { document: store.get().document });
              actions.commit(answer.document, "Draw the floor from the readings");
              actions.say("The floor is drawn from the readings. Undo brings the old one back.");
            });
          },
          { class: readyToDraw(document, answer) ? "do" : "", "data-keep": "draw-floor" },
        ),
      ),
    survey.outlines.length > 0 &&
      loose.length > 0 &&
      h(
        "p.quiet",
        {},
        `${loose.join(", ")} ${loose.length === 1 ? "is" : "are"} undetermined; nothing can be drawn through ${loose.length === 1 ? "it" : "them"} yet.`,
      ),
  ];
}

/** @param {import("../steps/parts.js").Context} context @param {import("../format_types.js").Surveyed} outline */
function one(context, outline) {
  const { store, actions } = context;
  const { document } = store.get();
  const title = WHAT.find(([key]) => key === (outline.what ?? DEFAULTS.Surveyed.what))?.[1] ?? "";
  return h(
    "li",
    { dataset: { outline: outline.id } },
    h("span.outline-what", {}, title, outline.what === "floor" ? "" : ` ${outline.id}`),
    outline.centre
      ? h("span", {}, `round, about ${outline.centre}`)
      : typed(context, {
          keep: `corners-${outline.id}`,
          label: `Corners of ${title.toLowerCase()} ${outline.id}, in order`,
          value: (outline.corners ?? []).join(" "),
          take: (text) => {
            const corners = idsIn(text);
            const fault = cornersFault(document, corners);
            if (fault) throw new QuantityError(fault);
            actions.commit(changeOutline(document, outline.id, { corners }), `Change the corners of ${outline.id}`);
          },
        }),
    button("×", () => actions.commit(removeOutline(document, outline.id), `Remove outline ${outline.id}`), {
      class: "small",
      "aria-label": `Remove outline ${outline.id}`,
      "data-keep": `outline-out-${outline.id}`,
    }),
    outline.centre ? diameterField(context, outline) : null,
    (outline.what ?? DEFAULTS.Surveyed.what) === "obstacle" ? heightField(context, outline) : null,
  );
}

/** @typedef {import("../format_types.js").Surveyed} Surveyed */

/** How high an obstacle stands; what a reading gives need not be typed. @param {import("../steps/parts.js").Context} context @param {Surveyed} outline */
function heightField(context, outline) {
  const { document, unit } = context.store.get();
  return h(
    "label.outline-size",
    {},
    h("span", {}, `Height, ${unit}`),
    typed(context, {
      keep: `height-${outline.id}`,
      label: `Height of ${outline.id}`,
      value: outline.height_mm ? format(outline.height_mm, unit) : "",
      placeholder: lackOf(document, outline)?.key === "height" ? "needed" : "as read",
      take: (text) => {
        const height = text ? parseQuantity(text, "length", unit) : undefined;
        if (height !== undefined && height <= 0) throw new QuantityError("It must be more than 0.");
        context.actions.commit(
          changeOutline(document, outline.id, { height_mm: height }),
          `Change the height of ${outline.id}`,
        );
      },
    }),
  );
}

/** The diameter of what is round, as long as no reading gives it. @param {import("../steps/parts.js").Context} context @param {Surveyed} outline */
function diameterField(context, outline) {
  const { document, unit } = context.store.get();
  if (lackOf(document, outline)?.key !== "diameter") return null;
  return h(
    "label.outline-size",
    {},
    h("span", {}, `Diameter, ${unit}`),
    typed(context, {
      keep: `diameter-${outline.id}`,
      label: `Diameter of ${outline.id}`,
      value: "",
      placeholder: "needed",
      take: (text) => context.actions.commit(withDiameter(context, outline.centre ?? "", text), `Read the diameter of ${outline.id}`),
    }),
  );
}

/** What the jaws or the hook of a tool add. @param {import("../steps/parts.js").Context} context @param {import("../format_types.js").Tool} tool */
function jaws(context, tool) {
  const { document } = context.store.get();
  return typed(context, {
    keep: `jaw-${tool.id}`,
    label: `Jaws of the ${(tool.name || tool.id).toLowerCase()} in mm`,
    value: tool.jaw_mm ? format(tool.jaw_mm, "mm", 4) : "",
    take: (text) => {
      const jaw = text ? parseQuantity(text, "length", "mm") : undefined;
      if (jaw !== undefined && jaw <= 0) throw new QuantityError("It must be more than 0, or empty.");
      context.actions.commit(changeTool(document, tool.id, { jaw_mm: jaw }), `Change the jaws of ${tool.id}`);
    },
  });
}

const JAWS =
  "What a reading is off by when the outside of the jaws was read for the inside, or a hook was counted. Empty: not known.";

/** The tools and their spread. @param {import("../steps/parts.js").Context} context */
export function tools(context) {
  const { store, actions } = context;
  const { document } = store.get();
  const head = (/** @type {import("../types.js").Child} */ words) => h("th", { scope: "col" }, words);
  return [
    h(
      "p.quiet",
      {},
      "The spread is one standard deviation of a single reading, in mm. Everything that follows is as good as these.",
    ),
    h(
      "table.survey-tools",
      {},
      h("caption.unseen", {}, "Tools"),
      h("thead", {}, h("tr", {}, head("Tool"), head("Spread, mm"), head(h("abbr", { title: JAWS }, "Jaws, mm")))),
      h(
        "tbody",
        {},
        surveyOf(document).tools.map((tool) => toolRow(context, tool)),
      ),
    ),
    h(
      "div.actions-row",
      {},
      button("Add a tool of your own", () => actions.commit(addTool(document).document, "Add a tool"), {
        "data-keep": "add-tool",
      }),
    ),
  ];
}

/** @param {import("../steps/parts.js").Context} context @param {import("../format_types.js").Tool} tool */
function toolRow(context, tool) {
  const { store, actions } = context;
  const { document } = store.get();
  const name = typed(context, {
    keep: `tool-name-${tool.id}`,
    label: `Name of the tool ${tool.id}`,
    value: tool.name ?? "",
    most: 120,
    take: (text) => actions.commit(changeTool(document, tool.id, { name: text }), `Name the tool ${tool.id}`),
  });
  const spread = typed(context, {
    keep: `spread-${tool.id}`,
    label: `Spread of the ${(tool.name || tool.id).toLowerCase()} in mm`,
    value: format(tool.spread_mm, "mm", 4),
    take: (text) => {
      const read = parseQuantity(text, "length", "mm");
      if (read <= 0) throw new QuantityError("A spread is more than nothing.");
      actions.commit(changeTool(document, tool.id, { spread_mm: read }), `Change the spread of ${tool.id}`);
    },
  });
  return h("tr", {}, h("th", { scope: "row" }, name), h("td", {}, spread), h("td", {}, jaws(context, tool)));
}
