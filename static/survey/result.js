/** Survey result: undetermined points, mirrored places, readings that contradict each other, and what to read next. */

import { h } from "../dom.js";
import { button } from "../panels/form.js";
import { setUnit, surveyOf } from "./edits.js";
import { focusSoon, freshEntry } from "./entry.js";
import { correctionsOf } from "./readings.js";

/** Scales at which the ellipses can be drawn. */
const SCALES = [1, 10, 100];

/** @param {import("../steps/parts.js").Context} context */
export function result(context) {
  const { document, answer } = context.store.get();
  const found = answer?.survey;
  const count = surveyOf(document).readings.length;
  if (!found) return h("p.quiet", {}, answer?.reasons?.survey ?? "The answer comes with the first readings.");
  if (!count)
    return h(
      "p.quiet",
      {},
      "Every point needs at least three readings, better four: two place it, the third tells its mirror image from it, the fourth can name a wrong one.",
    );
  const aside = found.readings.filter((r) => !r.used && !r.suspect).length;
  const said = found.messages.filter((words) => !words.startsWith("Next, "));
  return [
    context.store.get().old ? h("p.old-answer", {}, context.store.get().old) : state(found),
    h(
      "p.quiet",
      {},
      `${count} ${count === 1 ? "reading" : "readings"}${aside ? `, ${aside} of them excluded` : ""}; redundancy ${found.redundancy}: ${found.redundancy < 1 ? "nothing is checked yet" : `${found.redundancy} more than the points need`}.`,
    ),
    said.length > 0 &&
      h(
        "ul.survey-said",
        {},
        said.map((words) => h("li", {}, words)),
      ),
    found.readings.filter((r) => r.suspect && !r.rival).slice(0, 3).map((r) => correctionsOf(context, r)),
    ...(found.units ?? []).map((doubt) => otherUnit(context, doubt)),
    ...wishes(context, found),
    ellipses(context),
  ];
}

/** How far the readings agree, in a sentence. @param {import("../types.js").SurveyAnswer} found */
function state(found) {
  const suspects = found.readings.filter((r) => r.suspect).length;
  const rivals = found.rivals?.length ?? 0;
  const settled =
    !suspects &&
    !found.units?.length &&
    found.agrees !== false &&
    !found.loose.length &&
    !found.mirrored.some((m) => m.decided_by === "nothing");
  const words = () => {
    if (found.units?.length) return "Check the unit of the readings first.";
    if (rivals) return `One of ${rivals} readings is wrong, and the readings so far cannot tell which.`;
    if (suspects) return `${suspects} ${suspects === 1 ? "reading is" : "readings are"} suspect.`;
    return settled ? "The readings agree, and every point is determined." : "Not every point is determined yet.";
  };
  return h("p", { tabindex: "-1", "data-keep": "survey-state", class: suspects || found.units?.length ? "survey-state suspect" : "survey-state" }, words());
}

const UNIT_NAMES = { mm: "millimetres", cm: "centimetres", in: "inches" };

/** Readings that may be in another unit, and a button that takes them in it. @param {import("../steps/parts.js").Context} context @param {import("../types.js").UnitDoubt} doubt */
function otherUnit({ store, actions }, { readings, unit, width_mm: width, depth_mm: depth }) {
  const { document } = store.get();
  const all = readings.length === surveyOf(document).readings.filter((r) => !r.set_aside).length;
  const which = all ? `all ${readings.length} readings` : `${readings.length} readings (${readings.join(", ")})`;
  return h(
    "div.survey-wish",
    {},
    h("p", {}, `With ${which} in ${UNIT_NAMES[unit]} it is ${width.toFixed(0)} × ${depth.toFixed(0)} mm.`),
    button(
      `Take ${all ? "all" : "these"} in ${UNIT_NAMES[unit]}`,
      () => actions.commit(setUnit(document, readings, unit), `Take ${readings.length} readings in ${UNIT_NAMES[unit]}`),
      { class: "do", "data-keep": `unit-${unit}-${readings[0]}` },
    ),
  );
}

/** Readings that would help, each with a button that begins it. @param {import("../steps/parts.js").Context} context @param {import("../types.js").SurveyAnswer} found @returns {import("../types.js").Child[]} */
const wishes = (context, found) => [
  found.decides &&
    wished(
      context,
      { ...found.decides, wall: found.decides.wall ?? null },
      found.decides.settles ? "which tells them apart" : "which tells some of them apart",
      found.decides.again ? `Read again (${found.decides.again})` : "To decide, measure",
    ),
  found.loose.flatMap((l) => l.readings).map((wish) => wished(context, wish, "to determine it")),
  found.mirrored
    .filter((m) => m.decided_by !== "walls")
    .map(({ reading }) => reading && wished(context, reading, "to tell the sides apart")),
  !found.loose.length &&
    found.advice
      .slice(0, 3)
      .map((wish, i) =>
        wished(
          context,
          wish,
          i
            ? ""
            : `which tightens ${wish.tightens} from ${wish.before_mm.toFixed(2)} to ${wish.after_mm.toFixed(2)} mm`,
          i ? "Or measure" : "Next, measure",
        ),
      ),
];

/** A reading that would help, and a button that begins it. @param {import("../steps/parts.js").Context} context @param {Pick<import("../types.js").ReadingWish, "kind"|"points"|"wall"|"words">} wish @param {string} why @param {string} [lead] */
function wished(context, wish, why, lead = "Measure") {
  return h(
    "div.survey-wish",
    {},
    h("p", {}, `${lead} ${wish.words}${why ? `, ${why}` : ""}.`),
    button(
      "Add this reading",
      () => {
        const now = freshEntry(context);
        Object.assign(now, {
          kind: wish.kind,
          points: [wish.points[0], wish.points[1] ?? ""],
          wall: [wish.wall?.[0] ?? "", wish.wall?.[1] ?? ""],
          fault: "",
        });
        context.again();
        focusSoon("entry-value");
      },
      { "aria-label": `Add: ${wish.words}`, "data-keep": `wish-${wish.words}` },
    ),
  );
}

/** @param {import("../steps/parts.js").Context} context */
function ellipses({ store, actions }) {
  const scale = store.get().ellipseScale ?? 1;
  return h(
    "div.survey-scale",
    { role: "group", "aria-label": "Size of the ellipses on the drawing" },
    h("span", {}, `Ellipses (95 %) drawn ${scale === 1 ? "at true size" : `${scale} times as large`}`),
    SCALES.map((times) =>
      button(
        `×${times}`,
        () => {
          store.set({ ellipseScale: times });
          actions.show(store.get().document);
        },
        { "aria-pressed": String(times === scale), "data-keep": `ellipses-${times}` },
      ),
    ),
  );
}

let lastSaid = "";

/** Says what has changed in the answer, for those who do not see it. @param {import("../types.js").SurveyAnswer|null|undefined} survey */
export function announce(survey) {
  const words = (survey?.messages ?? []).slice(0, 2).join(" ");
  const region = document.getElementById("say-survey");
  if (!region || words === lastSaid) return;
  lastSaid = words;
  region.textContent = words;
}
