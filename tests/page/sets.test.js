import { equal, test } from "./harness.js";
import { createSets } from "/static/model/sets.js";

test("what is joined through others has one name at the top, what is not has its own", () => {
  const sets = createSets();
  equal(sets.top("a"), "a");
  sets.join("a", "b");
  sets.join("c", "d");
  equal(sets.top("a"), sets.top("b"));
  equal(sets.top("a") === sets.top("c"), false);
  sets.join("b", "c");
  equal(new Set(["a", "b", "c", "d"].map(sets.top)).size, 1);
  // Joined again, the other way round too, nothing turns in a ring.
  sets.join("d", "a");
  sets.join("a", "a");
  equal(new Set(["a", "b", "c", "d", "e"].map(sets.top)).size, 2);
});
