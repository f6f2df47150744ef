import { equal, ok, test } from "./harness.js";
import { Rerouter } from "/static/server/rerouting.js";

const channel = (id, x) => ({ id, start: "P1", end: "P2", points: [{ x_mm: x, y_mm: 0 }] });
const plate = (name) => ({ name, channels: [channel("C1", 1), channel("C2", 2)] });

/** A rerouter whose server answers when told to. */
function made({ wanted = true } = {}) {
  const [asked, shown, later] = [[], [], []];
  const rerouter = new Rerouter({
    wanted: () => wanted,
    ask: (document, moved) =>
      new Promise((answer, refuse) => asked.push({ name: document.name, moved, answer, refuse })),
    show: (document) => shown.push(document),
    later: (act) => later.push(act),
  });
  return { rerouter, asked, shown, later };
}
const turn = () => new Promise((done) => setTimeout(done));

test("one question at a time, about the newest place, and the answer is shown with the newest draft", async () => {
  const { rerouter, asked, shown } = made();
  rerouter.begin();
  equal(rerouter.along(plate("a"), ["P1"], false), plate("a"));
  rerouter.along(plate("b"), ["P1"], false);
  rerouter.along(plate("c"), ["P1"], false);
  equal(asked.map((one) => one.name), ["a"]);
  asked[0].answer({ channels: [channel("C2", 9)], left: [] });
  await turn();
  equal(asked.map((one) => one.name), ["a", "c"]);
  equal([shown[0].name, shown[0].channels[0].points[0].x_mm, shown[0].channels[1].points[0].x_mm], ["c", 1, 9]);
  // What comes back to its place has its channel again.
  asked[1].answer({ channels: [], left: [] });
  await turn();
  equal(shown[1], plate("c"));
});

test("let go, the last answer is waited for and all is kept once; or what is known after a while", async () => {
  const { rerouter, asked, shown, later } = made();
  const kept = [];
  rerouter.begin();
  rerouter.along(plate("a"), ["P1"], false);
  rerouter.settle(() => kept.push(shown.at(-1)?.name ?? "as it was"));
  rerouter.forget();
  equal(kept, []);
  asked[0].answer({ channels: [channel("C1", 5)], left: [] });
  await turn();
  equal(kept, ["a"]);
  equal(shown.length, 1);

  rerouter.begin();
  rerouter.along(plate("b"), ["P1"], false);
  rerouter.settle(() => kept.push("late"));
  later.at(-1)();
  equal(kept, ["a", "late"]);
  asked[1].answer({ channels: [channel("C1", 7)], left: [] });
  await turn();
  // Kept already: what comes then changes nothing.
  equal([kept.length, shown.length], [2, 1]);
});

test("Alt, a drag that is given up, a setting that is off and a server that is away leave the draft alone", async () => {
  const off = made({ wanted: false });
  equal(off.rerouter.along(plate("a"), ["P1"], false), plate("a"));
  equal(off.asked.length, 0);

  const { rerouter, asked, shown } = made();
  rerouter.begin();
  equal(rerouter.along(plate("a"), ["P1"], true), plate("a"));
  equal(asked.length, 0);
  rerouter.along(plate("a"), ["P1"], false);
  rerouter.forget();
  asked[0].answer({ channels: [channel("C1", 5)], left: [] });
  await turn();
  equal(shown, []);
  rerouter.along(plate("b"), ["P1"], false);
  asked[1].refuse(new Error("away"));
  await turn();
  let kept = 0;
  rerouter.settle(() => (kept += 1));
  ok(kept === 1);
});
