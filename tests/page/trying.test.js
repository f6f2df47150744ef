import { equal, test } from "./harness.js";
import { createTrying } from "/static/server/trying.js";

const turn = () => new Promise((done) => setTimeout(done));

/** A page that tries fixes out, whose server answers when told to. */
function made() {
  const [asked, tried, rests] = [[], [], []];
  const trying = createTrying({
    ask: (document, signal) =>
      new Promise((answer, refuse) => {
        signal.addEventListener("abort", () => refuse(new Error("hung up")));
        asked.push({ document, signal, answer, refuse });
      }),
    tried: (answer, document) => tried.push([answer, document]),
    rest: (idle) => rests.push(idle),
  });
  return { trying, asked, tried, rests };
}

test("what was tried comes once, with the document that it is about", async () => {
  const { trying, asked, tried, rests } = made();
  void trying.start("a");
  asked[0].answer("fixes of a");
  await turn();
  equal(tried, [["fixes of a", "a"]]);
  equal(rests.at(-1), true);
});

test("the next question hangs up, and what comes late is not taken", async () => {
  const { trying, asked, tried, rests } = made();
  void trying.start("a");
  void trying.start("b");
  equal([asked[0].signal.aborted, asked[1].signal.aborted], [true, false]);
  asked[0].answer("fixes of a");
  asked[1].answer("fixes of b");
  await turn();
  equal(tried, [["fixes of b", "b"]]);
  void trying.start("c");
  equal(rests.at(-1), false);
  trying.stop();
  equal([asked[2].signal.aborted, rests.at(-1)], [true, true]);
  await turn();
  equal(tried.length, 1);
});

test("a server that does not answer ends the waiting", async () => {
  const { trying, asked, tried, rests } = made();
  void trying.start("a");
  asked[0].refuse(new Error("away"));
  await turn();
  equal([tried, rests.at(-1)], [[], true]);
});
