/** The survey's points: their names, their places with the spread, and the frame they are given in. */

import { h } from "../dom.js";
import { button } from "../panels/form.js";
import { QuantityError, faultOf } from "../model/quantity.js";
import { put } from "../model/edit.js";
import {
  addPoints,
  freeName,
  idsIn,
  leaning,
  nameFault,
  removePoint,
  renamePoint,
  setPart,
  surveyOf,
} from "./edits.js";
import { chosen, typed } from "./typed.js";

/** @typedef {import("../types.js").SurveyedPoint} SurveyedPoint */

/** Adds points by their names. @param {import("../steps/parts.js").Context} context @param {string} text @throws {QuantityError} */
function addNamed({ store, actions }, text) {
  const { document } = store.get();
  const names = idsIn(text);
  for (const [i, name] of names.entries()) {
    const fault = names.indexOf(name) < i ? `${name} is named twice.` : nameFault(document, name);
    if (fault) throw new QuantityError(fault);
  }
  if (names.length)
    actions.commit(
      addPoints(document, names),
      `Name ${names.length === 1 ? `point ${names[0]}` : `points ${names.join(", ")}`}`,
    );
}

/** @param {import("../steps/parts.js").Context} context */
export function points(context) {
  const survey = surveyOf(context.store.get().document);
  return [
    survey.points.length
      ? list(context)
      : h(
          "p.quiet",
          {},
          "Name the places that matter: corners of the floor, standoffs, middles of holes, edges of brackets.",
        ),
    adder(context),
    survey.points.length > 1 && frame(context),
  ];
}

/** The points there are. @param {import("../steps/parts.js").Context} context */
function list(context) {
  const { document, answer, unit } = context.store.get();
  const survey = surveyOf(document);
  const answers = new Map((answer?.survey?.points ?? []).map((p) => [p.id, p]));
  return h(
    "table.survey-points",
    {},
    h("caption.unseen", {}, "Points of the survey"),
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        h("th", { scope: "col" }, "Point"),
        h("th", { scope: "col" }, `What it is and where, ${unit}`),
        h("th", { scope: "col" }, h("span.unseen", {}, "Remove")),
      ),
    ),
    h(
      "tbody",
      {},
      survey.points.map((point) => row(context, point, answers.get(point.id))),
    ),
  );
}

/** The field and the button that add to them. @param {import("../steps/parts.js").Context} context */
function adder(context) {
  const { store, local } = context;
  const usual = () => freeName(store.get().document);
  return h(
    "div.survey-add",
    {},
    typed(context, {
      keep: "new-points",
      label: "New points",
      value: "",
      placeholder: `${usual()}, or several`,
      take: (text) => {
        if (text) addNamed(context, text);
      },
    }),
    button(
      "Add point",
      () => {
        const text = (local.typed?.["new-points"] ?? "").trim();
        const fault = faultOf(() => addNamed(context, text || usual()));
        if (fault) {
          local.faults["new-points"] = fault;
          context.again();
          return;
        }
        delete local.typed?.["new-points"];
        delete local.faults?.["new-points"];
      },
      { "data-keep": "add-point" },
    ),
  );
}

/** @param {import("../steps/parts.js").Context} context @param {import("../format_types.js").SurveyPoint} point @param {SurveyedPoint|undefined} answer */
function row(context, point, answer) {
  const { unit } = context.store.get();
  return h(
    "tr",
    { class: answer?.loose ? "undetermined" : null, dataset: { point: point.id } },
    h("th", { scope: "row" }, idField(context, point)),
    h("td", {}, nameField(context, point), h("div.place", {}, place(answer, unit))),
    h("td", {}, removeButton(context, point)),
  );
}

/** @param {import("../steps/parts.js").Context} context @param {import("../format_types.js").SurveyPoint} point */
function idField(context, point) {
  const { actions, local } = context;
  const { document } = context.store.get();
  const keep = `point-${point.id}`;
  return typed(context, {
    keep,
    label: `Name of point ${point.id}`,
    value: point.id,
    most: 24,
    take: (text) => {
      const fault = nameFault(document, text, point.id);
      if (fault) throw new QuantityError(fault);
      delete local.typed[keep];
      actions.commit(renamePoint(document, point.id, text), `Rename ${point.id} to ${text}`);
    },
  });
}

/** What a point is, in words. @param {import("../steps/parts.js").Context} context @param {import("../format_types.js").SurveyPoint} point */
function nameField(context, point) {
  const { document } = context.store.get();
  return typed(context, {
    keep: `point-name-${point.id}`,
    label: `What ${point.id} is`,
    value: point.name ?? "",
    most: 120,
    placeholder: "hole…",
    take: (text) => {
      const points = surveyOf(document).points.map((p) => (p.id === point.id ? put(p, ["name"], text || undefined) : p));
      context.actions.commit(setPart(document, "points", points), `Say what ${point.id} is`);
    },
  });
}

/** @param {import("../steps/parts.js").Context} context @param {import("../format_types.js").SurveyPoint} point */
function removeButton({ actions, store }, { id }) {
  const { document } = store.get();
  const lean = leaning(document, id);
  return button(
    "×",
    () => {
      actions.commit(removePoint(document, id), `Remove point ${id}`);
      const gone = [...lean.readings, ...lean.ties.map((tied) => `the tie of ${tied}`)];
      if (gone.length || lean.outlines.length)
        actions.say(`${id} is out${gone.length ? `, with ${gone.join(", ")}` : ""}. Undo brings it back.`);
    },
    { class: "small", "aria-label": `Remove point ${id}`, title: `Remove ${id}`, "data-keep": `point-out-${id}` },
  );
}

/** @param {SurveyedPoint|undefined} answer @param {import("../types.js").Unit} unit */
function place(answer, unit) {
  if (!answer) return "";
  if (answer.loose) return h("span.undetermined-sign", {}, "undetermined");
  const fixed = (/** @type {number} */ mm) =>
    (unit === "in" ? (mm / 25.4).toFixed(3) : mm.toFixed(2)).replace("-", "−");
  const part = (/** @type {"x"|"y"} */ axis) =>
    h(
      "span.coordinate",
      {},
      h("span.axis", {}, axis, " "),
      fixed(answer[`${axis}_mm`]),
      h("span.sigma", {}, ` ± ${fixed(answer[`sigma_${axis}_mm`])}`),
    );
  return [part("x"), part("y")];
}

/** Which points make the frame. @param {import("../steps/parts.js").Context} context */
function frame({ store, actions }) {
  const { document, answer } = store.get();
  const survey = surveyOf(document);
  const datum = answer?.survey?.datum;
  const options = survey.points.map((p) => /** @type {[string, string]} */ ([p.id, p.id]));
  const choice = (/** @type {"origin"|"along_x"} */ key, /** @type {string} */ label, /** @type {string} */ words) =>
    h(
      "label.survey-frame",
      {},
      h("span", {}, label),
      chosen({
        keep: `frame-${key}`,
        label: words,
        value: survey[key] ?? "",
        empty: datum?.[key] ? `Usual: ${datum[key]}` : "Usual",
        options,
        change: (id) => {
          const other = key === "origin" ? "along_x" : "origin";
          let next = setPart(document, key, id || undefined);
          // The same point cannot be both: the other goes back to what is usual.
          if (id && survey[other] === id) next = setPart(next, other, undefined);
          actions.commit(next, key === "origin" ? "Choose the origin" : "Choose the x axis");
        },
      }),
    );
  return h(
    "div.survey-frames",
    {},
    choice("origin", "Front left corner", "Origin: the front left inner corner"),
    choice("along_x", "Point on the front wall", "A point on the front wall, to which the x axis runs"),
  );
}
