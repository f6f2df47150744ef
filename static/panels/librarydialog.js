/** The library of own parts: what is kept, what there is to start from, and the file it is saved to and opened from. */

import { h } from "../dom.js";
import { sentence } from "../server/api.js";
import { dialog } from "./dialogs.js";
import { button } from "./form.js";

/**
 * @typedef {import("../model/library.js").Part} Part
 * @typedef {{parts: Part[], starters: Part[]}} Parts
 * @typedef {{api: import("../types.js").Api, use: (part: Part) => string, changed: (parts: Parts) => void}} Given
 *   use: adds a part to the plate, and says what is in its way, if anything; changed: told of what is kept now
 */

/** @type {Record<string, string>} */
const KINDS = { device: "Device", board: "Board", fitting: "Fitting", tube: "Tube" };
/** A file of parts is text; more than this is none, bytes. */
const LARGEST = 20_000_000;

/** @param {Given} given @param {Parts} first */
export function libraryDialog({ api, use, changed }, first) {
  const problem = h("p.problem", { role: "alert", hidden: true });
  const list = h("div", {});
  const gone = h("p", { role: "status", hidden: true });
  const restore = (/** @type {Part} */ part) =>
    void doing.done(async () => {
      const parts = await api.keepPart(part);
      gone.hidden = true;
      return parts;
    });
  /** @type {Doing} */
  const doing = {
    say(words) {
      problem.textContent = words;
      problem.hidden = !words;
    },
    async done(run) {
      try {
        const parts = await run();
        doing.say("");
        draw(parts);
        changed(parts);
      } catch (error) {
        doing.say(sentence(error));
      }
    },
    add(part) {
      const why = use(part);
      if (why) doing.say(why);
      else box.close();
    },
    remove: (part) =>
      void doing.done(async () => {
        const parts = await api.deletePart(part.name);
        offered(gone, part, () => restore(part));
        return parts;
      }),
  };
  /** @param {Parts} parts */
  const draw = (parts) => list.replaceChildren(...shelves(parts, doing));
  draw(first);
  const file = fileField(doing, (content) => api.post("/api/parts/library", content));
  const box = dialog(
    "Library of parts",
    [
      h(
        "div.actions-row",
        {},
        h("a.button", { href: "/api/parts/library.json", download: "parts.json" }, "Save as a file"),
        button("Open a file…", () => file.click()),
        file,
      ),
      problem,
      gone,
      list,
    ],
    { class: "wide" },
  );
  return box;
}

/**
 * What the dialog can do.
 * @typedef {{say: (words: string) => void, done: (run: () => Promise<Parts>) => Promise<void>,
 *   add: (part: Part) => void, remove: (part: Part) => void}} Doing
 */

/** That a part is deleted, and the way back, with the focus on it: its row is gone. @param {HTMLElement} line @param {Part} part @param {() => void} restore */
function offered(line, part, restore) {
  line.replaceChildren(`${part.name} is deleted. `, button("Restore it", restore));
  line.hidden = false;
  line.querySelector("button")?.focus();
}

/** What is kept, and what there is to start from. @param {Parts} parts @param {Doing} doing @returns {HTMLElement[]} */
const shelves = ({ parts, starters }, doing) => [
  h("h3", {}, `Your own (${parts.length})`),
  parts.length
    ? h("ul.plain", {}, parts.map((part) => row(part, true, doing)))
    : h("p.quiet", {}, "None yet. Select a device, a board or a tube and choose “Save to the library”."),
  h("h3", {}, "To start from"),
  h("ul.plain", {}, starters.map((part) => row(part, false, doing))),
];

/** @param {Part} part @param {boolean} own @param {Doing} doing */
const row = (part, own, { add, remove }) =>
  h(
    "li.library-row",
    {},
    h(
      "div.grow",
      {},
      h("strong", {}, part.name),
      h("span.quiet", {}, ` ${KINDS[part.kind]}`),
      part.assumed ? h("p.quiet", {}, part.assumed) : null,
    ),
    button("Add", () => add(part), { "aria-label": `Add ${part.name} to the plate` }),
    own ? button("Delete", () => remove(part), { "aria-label": `Delete ${part.name} from the library` }) : null,
  );

/** The field behind “Open a file”. @param {Doing} doing @param {(content: unknown) => Promise<Parts>} post */
function fileField({ say, done }, post) {
  /** @param {File} chosen */
  const open = async (chosen) => {
    if (chosen.size > LARGEST) return say(`${chosen.name} is too large to be a file of parts. Nothing was changed.`);
    let content;
    try {
      content = JSON.parse(await chosen.text());
    } catch {
      return say(`${chosen.name} is no JSON file. Open one that was saved here. Nothing was changed.`);
    }
    return done(() => post(content));
  };
  /** @type {HTMLInputElement} */
  const file = h("input.unseen", {
    type: "file",
    accept: ".json,application/json",
    tabindex: "-1",
    "aria-label": "File of parts",
    onchange: () => {
      const chosen = file.files?.[0];
      if (chosen) void open(chosen);
      file.value = "";
    },
  });
  return file;
}
