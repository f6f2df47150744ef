/** Edits sent in place of documents, and answers put together: what comes out is what a whole question would give. */

import { equal, test } from "./harness.js";
import { Refused } from "/static/server/api.js";
import { createKnowing, editBetween, together } from "/static/server/knowing.js";
import { plate } from "./plate.js";

const moved = (document, by) => ({
  ...document,
  ports: document.ports.map((port, n) => (n ? port : { ...port, x_mm: port.x_mm + by })),
});

test("an edit names what moved by list and number, and is none where more than that differs", () => {
  const before = plate();
  const now = moved(before, 3);
  equal(editBetween(before, now), { ports: { 0: now.ports[0] } });
  equal(editBetween(before, before), {});
  equal(editBetween(before, { ...before, name: "Other" }), null);
  equal(editBetween(before, { ...before, ports: before.ports.slice(1) }), null);
  equal(editBetween(before, { ...before, holes: undefined, more: 1 }), null);
});

test("a list is put together of pieces of the one before and new rows", () => {
  equal(together([1, 2, 3, 4], [{ start: 2, count: 2 }, { rows: [9] }, { start: 0, count: 1 }]), [3, 4, 9, 1]);
  equal(together([], [{ rows: [] }]), []);
});

test("the first question is whole, the next an edit; its answer is the whole one", async () => {
  const sent = [];
  const answers = [
    { known: "a", findings: [1, 2, 3], flow: { volume_l: 1, elements: [{ id: "C1" }, { id: "C2" }] } },
    {
      known: "b",
      findings: null,
      flow: null,
      differences: {
        findings: [{ start: 0, count: 2 }, { rows: [7] }],
        flow: { volume_l: 2, elements: [{ rows: [{ id: "C1", x: 1 }] }, { start: 1, count: 1 }] },
      },
    },
    { known: "c", findings: null, flow: null, differences: { findings: [{ start: 2, count: 1 }], flow: {} } },
  ];
  const knowing = createKnowing(async (question) => (sent.push(question), answers[sent.length - 1]));
  const documents = [plate(), moved(plate(), 1)];
  documents[1] = moved(documents[0], 1);
  documents.push(moved(documents[1], 1));
  const want = ["findings", "flow"];
  await knowing(documents[0], want);
  const second = await knowing(documents[1], want, { quick: true });
  const third = await knowing(documents[2], want, { quick: true });
  equal(sent[0].document, documents[0]);
  equal([sent[1].base, sent[1].document, sent[1].edit], ["a", undefined, { ports: { 0: documents[1].ports[0] } }]);
  equal(second.findings, [1, 2, 7]);
  equal(second.flow, { volume_l: 2, elements: [{ id: "C1", x: 1 }, { id: "C2" }] });
  equal([sent[2].base, third.findings, third.flow], ["b", [7], second.flow]);
});

test("a server that has started anew is sent the whole, and known again from then on", async () => {
  const sent = [];
  const knowing = createKnowing(async (question) => {
    sent.push(question);
    if (question.base === "old") throw new Refused(409, { error: { code: "unknown-base", message: "" } });
    return { known: sent.length === 1 ? "old" : "new", findings: [sent.length] };
  });
  const first = plate();
  await knowing(first, ["findings"]);
  equal((await knowing(moved(first, 1), ["findings"])).findings, [3]);
  equal([sent.length, sent[1].base, Boolean(sent[2].document)], [3, "old", true]);
  await knowing(first, ["findings"]);
  equal(sent[3].base, "new");
});

test("the drawing and snapping places come by what differs, and stay known meanwhile", async () => {
  const [open, close] = ['<svg><g class="layer" data-layer="ports">', "</g></svg>"];
  const item = (id, at) => `<g class="item" data-id="${id}"><path d="M${at} 0" /></g>`;
  const snaps = { places: [] };
  const sent = [];
  const answers = [
    { known: "a", findings: [], drawing: { svg: `${open}${item("P1", 1)}${item("P2", 2)}${close}`, box: [0, 0, 9, 9] }, snaps },
    { known: "b", findings: [7] },
    {
      known: "c",
      drawing: null,
      snaps: null,
      differences: {
        drawing: { rows: [{ start: 0, count: 2 }, { rows: [item("P1", 5)] }, { start: 3, count: 1 }], box: [0, 0, 8, 8] },
        snaps: {},
      },
    },
  ];
  const knowing = createKnowing(async (question) => (sent.push(question), answers[sent.length - 1]));
  const first = plate();
  await knowing(first, ["findings", "drawing", "snaps"]);
  await knowing(moved(first, 1), ["findings"]);
  const found = await knowing(moved(first, 2), ["drawing", "snaps"]);
  equal(sent[2].base, "b");
  equal(found.drawing, { box: [0, 0, 8, 8], svg: `${open}${item("P1", 5)}${item("P2", 2)}${close}` });
  equal(found.snaps, snaps);
});

test("a refusal for another reason is passed on, and a question for something else changes nothing known", async () => {
  let refuse = false;
  const sent = [];
  const knowing = createKnowing(async (question) => {
    sent.push(question);
    if (refuse) throw new Refused(422, { error: { code: "document", message: "no" } });
    return { known: question.keep ? `k${sent.length}` : null, findings: [] };
  });
  const first = plate();
  await knowing(first, ["findings"]);
  await knowing(moved(first, 1), ["snaps"]);
  equal([sent[1].base, sent[1].keep], ["k1", false]);
  refuse = true;
  let code = "";
  try {
    await knowing(moved(first, 2), ["findings"]);
  } catch (error) {
    code = error.code;
  }
  equal([code, sent.length], ["document", 3]);
  refuse = false;
  await knowing(first, ["findings"]);
  equal(sent[3].base, "k1");
});
