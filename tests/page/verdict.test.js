import { equal, ok, test } from "./harness.js";
import { progressOf } from "/static/steps/progress.js";
import { failedParts, flows, questionVerdict, verdictOf } from "/static/model/verdict.js";
import { createFreshness } from "/static/server/freshness.js";
import { placeFor } from "/static/panels/whereto.js";
import { plate } from "./plate.js";

const zero = { error: 0, warning: 0, note: 0 };
const asked = (more = {}) => ({ question: "fits", counts: zero, not_looked_at: [], ...more });
const good = (more = {}) => ({ findings: [], counts: zero, empty: false, questions: [asked()], reasons: {}, ...more });
const one = (level, accepted = "") => ({ rule: "r", level, items: ["P1"], accepted });

/** Every way in which "all is well" would be a lie. */
const LIES = [
  ["nothing came yet", null, ""],
  ["the checks failed", good({ findings: null, reasons: { findings: "it failed" } }), ""],
  ["another part failed", good({ reasons: { lid: "it failed" } }), ""],
  ["the answer is old", good(), "from before"],
  ["the slow rules were left out", good({ quick: true }), ""],
  ["nothing is on the plate", good({ empty: true }), ""],
  ["an error", good({ findings: [one("error")] }), ""],
  ["a warning", good({ findings: [one("warning")] }), ""],
];
for (const [why, answer, old] of LIES)
  test(`nothing is called good when ${why}`, () => {
    ok(verdictOf(answer, old).kind !== "kept");
    if (!["an error", "a warning"].includes(why)) ok(questionVerdict(answer, "fits", old).kind !== "kept");
    const { check } = progressOf(plate(), answer, [], old);
    ok(why === "a warning" || !check.done, `${why}: the step is marked done`);
  });

test("all is well only with every rule run on this plate, and accepted findings count no more", () => {
  equal(verdictOf(good()).kind, "kept");
  equal(verdictOf(good({ findings: [one("error", "because"), one("note")] })).kind, "kept");
  equal(questionVerdict(good(), "fits").words, "Yes");
});

test("a question says what it did not look at, and is then no plain yes", () => {
  const answer = good({ questions: [asked({ not_looked_at: ["The ceiling."] })] });
  equal(questionVerdict(answer, "fits"), {
    kind: "partly",
    words: "Yes, for what was checked",
    unseen: ["The ceiling."],
  });
  const wrong = good({ questions: [asked({ counts: { ...zero, error: 2 } })], findings: [one("error")] });
  equal(questionVerdict(wrong, "fits").words, "No: 2 to fix");
});

test("a loop that stands is no flow", () => {
  const standing = good({ questions: [asked({ question: "flows" })], flow: { operating_point: { flow_l_min: 0 } } });
  equal([flows(standing), questionVerdict(standing, "flows").words], [false, "No flow yet"]);
  ok(flows(good({ flow: { operating_point: { flow_l_min: 3 } } })));
});

test("what failed is named", () => {
  equal(failedParts(good({ reasons: { lid: "it failed" } })), "the lid: it failed");
});

test("a survey that was not calculated, disagrees or leaves points open is not done", () => {
  const read = { ...plate(), survey: { points: [{ id: "A" }], readings: [{ id: "M1", points: ["A"], value: 1 }] } };
  const survey = { readings: [], points: [], agrees: true };
  equal(progressOf(read, good()).measure.done, false);
  equal(progressOf(read, good({ survey: { ...survey, agrees: false } })).measure.words, "readings disagree");
  equal(progressOf(read, good({ survey: { ...survey, points: [{ id: "A", loose: true }] } })).measure.done, false);
  equal(progressOf(read, good({ survey })).measure.done, true);
});

/** A page that asks, with a clock that is wound by hand. */
function asking() {
  const state = { document: "new", draft: null, old: "" };
  let due = null;
  const fresh = createFreshness({
    store: { get: () => state, set: (patch) => Object.assign(state, patch) },
    wait: (run) => {
      due = run;
      return 1;
    },
    stop: () => {
      due = null;
    },
  });
  return { state, fresh, later: () => due?.() };
}

test("an answer that is overdue leaves what is shown marked as old, until one about this plate comes", () => {
  const { state, fresh, later } = asking();
  fresh.rest(false);
  equal(state.old, "");
  later();
  ok(state.old.startsWith("Checking"));
  fresh.answered("an older one", ["findings"]);
  ok(state.old, "an answer about another state counted");
  fresh.answered("new", ["drawing"]);
  ok(state.old, "a drawing alone counted");
  fresh.answered("new", ["findings"]);
  equal(state.old, "");
  fresh.rest(true);
  later();
  equal(state.old, "");
});

test("an answer that will not come leaves what is shown marked as old, with the reason", () => {
  const { state, fresh } = asking();
  fresh.rest(false);
  fresh.failed("The server does not answer.");
  fresh.rest(true);
  ok(state.old.startsWith("The server does not answer."));
});

test("every finding leads somewhere: its items, its reading, its field, or the step of its question", () => {
  const survey = { points: [{ id: "A" }], readings: [{ id: "M1", points: ["A"], value: 1 }] };
  const document = { ...plate(), survey };
  equal(placeFor(document, { rule: "survey-suspect", items: ["M1"] }, "fits"), { step: "measure", keep: "value-M1" });
  equal(placeFor(document, { rule: "survey-loose", items: ["A"] }, "fits"), { step: "measure", keep: "point-A" });
  equal(placeFor(document, { rule: "wall-port-port", items: ["P1"] }, "holds"), null);
  equal(placeFor(document, { rule: "screw-none", items: [] }, "holds").keep, "screws-fill");
  equal(placeFor(document, { rule: "unheard-of", items: [] }, "flows").step, "channels");
});
