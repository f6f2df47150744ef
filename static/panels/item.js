/** The card of what is picked: its numbers, its place in groups, and what can be done with it. */

import * as arrange from "../model/arrange.js";
import { between } from "./between.js";
import { insertPoint, placeOnCourse, removePoint, straighten } from "../model/centrelines.js";
import { called, cornersOf, find, itemsOf, kindInfo, valueOf } from "../model/document.js";
import { h, refill } from "../dom.js";
import * as edit from "../model/edit.js";
import { COMMON, fieldsOf } from "./fields.js";
import { button, field } from "./form.js";
import { QuantityError, format, parseMove, parseQuantity } from "../model/quantity.js";

/** @param {{store: any, actions: any, stage: any, root: HTMLElement}} parts */
export function createCard({ store, actions, stage, root }) {
  let named = false;

  function draw() {
    const state = store.get();
    const document = state.draft ?? state.document;
    if (!document) return;
    const picked = state.selection.filter((/** @type {string} */ id) => find(document, id));
    delete root.dataset.of;
    if (!picked.length) {
      refill(
        root,
        h(
          "p.quiet",
          {},
          "Nothing is picked. Click an item on the drawing, or choose one under “All items”. Shift adds to what is picked; Shift and a drag on empty floor picks all within.",
        ),
      );
    } else if (picked.length === 1) {
      refill(root, one(document, picked[0], state));
      root.dataset.of = picked[0];
      root.dataset.corners = String((find(document, picked[0])?.item.points ?? []).length);
    } else {
      refill(root, several(document, picked, state));
    }
  }

  /** @param {any} document @param {string} id @param {any} state */
  function one(document, id, state) {
    const { kind, item } = /** @type {any} */ (find(document, id));
    const group = (document.groups ?? []).find((/** @type {any} */ g) => (g.members ?? []).includes(id));
    return [
      h(
        "header.card-head",
        {},
        h(
          "h3",
          {},
          h("span.id", {}, id),
          " ",
          kindInfo(kind).title,
          item.name ? h("span.quiet", {}, ` ${item.name}`) : null,
        ),
        h(
          "label.lock",
          {},
          h("input", {
            type: "checkbox",
            checked: Boolean(item.locked),
            "data-keep": "lock",
            onchange: (/** @type {any} */ e) =>
              actions.edit(`${e.target.checked ? "Lock" : "Unlock"} ${id}`, (/** @type {any} */ d) =>
                edit.lock(d, [id], e.target.checked),
              ),
          }),
          "Locked",
        ),
      ),
      group
        ? h(
            "p.quiet",
            {},
            "Moves with ",
            button(called(group), () => actions.pick([group.id]), { class: "link" }),
            ".",
          )
        : null,
      item.held_by
        ? h(
            "p.quiet",
            {},
            "Stands in ",
            button(item.held_by, () => actions.pick([item.held_by]), { class: "link" }),
            " and moves with it.",
          )
        : null,
      h(
        "div.fields",
        {},
        fieldsOf(kind, item).map((f) => itemField(document, kind, item, f, state)),
      ),
      kind === "channel" ? course(document, item, state) : null,
      item.outline?.shape === "polygon" ? vertices(item, state) : null,
      kind === "group" ? null : moves(state),
      doings(kind, [id]),
      h(
        "details",
        {
          class: "more",
          open: named,
          ontoggle: (/** @type {any} */ e) => {
            named = e.target.open;
          },
        },
        h("summary", { "data-keep": "named" }, "Name and note"),
        h(
          "div.fields",
          {},
          COMMON.map((f) => itemField(document, kind, item, f, state)),
        ),
      ),
    ];
  }

  /** @param {any} document @param {string} kind @param {any} item @param {any} spec @param {any} state */
  function itemField(document, kind, item, spec, state) {
    const options = optionsFor(document, kind, item, spec);
    const f = options ? { ...spec, options } : spec;
    const given = edit.dig(item, f.path);
    const value = given ?? f.usual ?? valueOf(kind, item, String(f.path.at(-1)));
    return field(f, value, {
      unit: state.unit,
      keep: `${item.id}-${f.path.join("-")}`,
      given: given !== undefined && given !== null,
      change: (next) => change(item, kind, f, next),
    });
  }

  /** @param {any} item @param {string} kind @param {any} f @param {any} next */
  function change(item, kind, f, next) {
    const key = f.path.at(-1);
    if ((key === "x_mm" || key === "y_mm") && edit.movable(item, kind)) {
      // By number as by hand: groups and square legs come along.
      const now = edit.dig(find(store.get().document, item.id)?.item, f.path) ?? 0;
      const ids = actions.moving([item.id]);
      actions.edit(`Move ${item.id}`, (/** @type {any} */ d) =>
        edit.move(d, ids, key === "x_mm" ? next - now : 0, key === "y_mm" ? next - now : 0),
      );
      return;
    }
    if (kind === "port" && key === "thread" && next === null) {
      actions.edit(`Make ${item.id} a marker`, (/** @type {any} */ d) =>
        edit.change(d, item.id, (i) => ({ ...i, thread: null })),
      );
      return;
    }
    const usual = f.usual !== undefined && next === f.usual && !f.path.includes("outline");
    actions.edit(`Change ${f.label.toLowerCase()} of ${item.id}`, (/** @type {any} */ d) =>
      edit.setValue(d, item.id, f.path, usual || next === "" ? null : next),
    );
  }

  /** @param {any} document @param {string} kind @param {any} item @param {any} f @returns {[string, string][]|null} */
  function optionsFor(document, kind, item, f) {
    const key = f.path[0];
    if (kind === "port" && key === "thread") return f.options.map((/** @type {[string, string]} */ o) => o);
    if (key === "serves") {
      const taken = new Set(
        itemsOf(document, "port")
          .filter((p) => p.id !== item.id)
          .map((p) => p.serves),
      );
      return itemsOf(document, "device")
        .flatMap((d) =>
          (d.ports ?? []).map((/** @type {any} */ p) => [
            `${d.id}.${p.id}`,
            `${d.id}.${p.id}${d.name ? ` (${d.name})` : ""}`,
          ]),
        )
        .filter(([ref]) => !taken.has(ref));
    }
    if (key === "start" || key === "end")
      return [...itemsOf(document, "port"), ...itemsOf(document, "branch")].map((i) => [i.id, called(i)]);
    if (key === "held_by")
      return itemsOf(document, "board")
        .filter((b) => b.id !== item.id)
        .map((b) => [b.id, called(b)]);
    return null;
  }

  /** Corners of a channel, one row each. @param {any} document @param {any} channel @param {any} state */
  function course(document, channel, state) {
    const points = channel.points ?? [];
    return h(
      "section.sub",
      { "aria-label": "Corners" },
      h("h4", {}, `Corners (${points.length})`),
      points.length
        ? h(
            "ol.corners",
            {},
            points.map((/** @type {any} */ p, /** @type {number} */ i) =>
              h(
                "li",
                { class: state.spot?.index === i ? "chosen" : null },
                coordinate(channel.id, ["points", i, "x_mm"], p.x_mm, `Corner ${i + 1} from the left`, state),
                coordinate(channel.id, ["points", i, "y_mm"], p.y_mm, `Corner ${i + 1} from the front`, state),
                coordinate(
                  channel.id,
                  ["points", i, "bend_radius_mm"],
                  p.bend_radius_mm ?? null,
                  `Corner ${i + 1} bend radius`,
                  state,
                  "R",
                ),
                button(
                  "∟",
                  () =>
                    actions.edit(`Square corner ${i + 1} of ${channel.id}`, (/** @type {any} */ d) =>
                      straighten(d, channel.id, i, "square", stage.roots),
                    ),
                  { "aria-label": `Make corner ${i + 1} square`, title: "Square", "data-keep": `sq-${i}` },
                ),
                button(
                  "45°",
                  () =>
                    actions.edit(`Slant corner ${i + 1} of ${channel.id}`, (/** @type {any} */ d) =>
                      straighten(d, channel.id, i, "slant", stage.roots),
                    ),
                  { "aria-label": `Make corner ${i + 1} a 45° one`, title: "One leg at 45°", "data-keep": `sl-${i}` },
                ),
                button(
                  "×",
                  () =>
                    actions.edit(
                      `Take corner ${i + 1} out of ${channel.id}`,
                      (/** @type {any} */ d) => removePoint(d, channel.id, i),
                      { spot: null },
                    ),
                  { "aria-label": `Take out corner ${i + 1}`, "data-keep": `rm-${i}` },
                ),
              ),
            ),
          )
        : h("p.quiet", {}, "It runs straight."),
      button("Add a corner", () => addCorner(document, channel), { "data-keep": "add-corner" }),
    );
  }

  /** A corner in the middle of the longest leg. @param {any} document @param {any} channel */
  function addCorner(document, channel) {
    const corners = cornersOf(document, channel, stage.roots);
    let [best, longest] = [0, -1];
    for (let i = 0; i + 1 < corners.length; i += 1) {
      const long = Math.hypot(corners[i + 1][0] - corners[i][0], corners[i + 1][1] - corners[i][1]);
      if (long > longest) [best, longest] = [i, long];
    }
    const [a, b] = [corners[best], corners[best + 1]];
    const spot = a && b && placeOnCourse(document, channel.id, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], stage.roots);
    if (spot)
      actions.edit(
        `Add a corner to ${channel.id}`,
        (/** @type {any} */ d) => insertPoint(d, channel.id, spot.index, spot.point),
        { spot: { id: channel.id, index: spot.index } },
      );
  }

  /** @param {any} item @param {any} state */
  function vertices(item, state) {
    return h(
      "section.sub",
      { "aria-label": "Corners of the outline" },
      h("h4", {}, "Corners"),
      h(
        "ol.corners",
        {},
        item.outline.vertices.map((/** @type {any} */ v, /** @type {number} */ i) =>
          h(
            "li",
            {},
            coordinate(item.id, ["outline", "vertices", i, "x_mm"], v.x_mm, `Corner ${i + 1} from the left`, state),
            coordinate(item.id, ["outline", "vertices", i, "y_mm"], v.y_mm, `Corner ${i + 1} from the front`, state),
            coordinate(
              item.id,
              ["outline", "vertices", i, "corner_radius_mm"],
              v.corner_radius_mm ?? null,
              `Corner ${i + 1} radius`,
              state,
              "R",
            ),
            item.outline.vertices.length > 3
              ? button(
                  "×",
                  () =>
                    actions.edit(`Take corner ${i + 1} out of ${item.id}`, (/** @type {any} */ d) =>
                      edit.change(d, item.id, (it) =>
                        edit.put(
                          it,
                          ["outline", "vertices"],
                          it.outline.vertices.filter((/** @type {any} */ _, /** @type {number} */ k) => k !== i),
                        ),
                      ),
                    ),
                  { "aria-label": `Take out corner ${i + 1}` },
                )
              : null,
          ),
        ),
      ),
    );
  }

  /** A number without a label of its own to see. @param {string} id @param {(string|number)[]} path @param {number|null} value @param {string} name @param {any} state @param {string} [hint] */
  function coordinate(id, path, value, name, state, hint = "") {
    const input = h("input", {
      type: "text",
      "aria-label": name,
      placeholder: hint,
      autocomplete: "off",
      "data-keep": `${id}-${path.join("-")}`,
      value: value === null ? "" : format(value, state.unit, 3),
      onchange: () => {
        const text = input.value.trim();
        try {
          const next = text ? parseQuantity(text, "length", state.unit) : null;
          if (next === null && !hint) throw new QuantityError("A number belongs here.");
          if (next !== null && hint && next < 0) throw new QuantityError("A radius is 0 or more.");
          input.removeAttribute("aria-invalid");
          actions.edit(`Change ${name.toLowerCase()} of ${id}`, (/** @type {any} */ d) =>
            edit.setValue(d, id, path, next),
          );
        } catch (error) {
          if (!(error instanceof QuantityError)) throw error;
          input.setAttribute("aria-invalid", "true");
          actions.say(error.message);
        }
      },
    });
    return input;
  }

  /** Relative moves in words. @param {any} state */
  function moves(state) {
    const problem = h("p.problem", { hidden: true, id: "move-problem" });
    const input = h("input", {
      type: "text",
      id: "move-by",
      placeholder: "30 mm to the front",
      autocomplete: "off",
      "data-keep": "move-by",
      "aria-describedby": "move-problem",
      onkeydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.key === "Enter") go();
      },
    });
    const go = () => {
      try {
        const { dx, dy } = parseMove(input.value, state.unit);
        problem.hidden = true;
        input.value = "";
        actions.nudge(dx, dy);
      } catch (error) {
        if (!(error instanceof QuantityError)) throw error;
        problem.textContent = error.message;
        problem.hidden = false;
      }
    };
    return h(
      "div.move-by",
      {},
      h("label", { for: "move-by" }, "Move it by"),
      h("span.entry", {}, input),
      button("Move", go, { "data-keep": "move-go" }),
      problem,
    );
  }

  /** @param {string} kind @param {string[]} ids */
  function doings(kind, ids) {
    const many = ids.length > 1;
    return h(
      "div.doings",
      { role: "group", "aria-label": "What to do with it" },
      button(many ? "Copy all" : "Copy", () => place((d) => arrange.copy(d, ids, 20, -20), `Copy ${ids.join(", ")}`), {
        "data-keep": "copy",
      }),
      kind === "group" ? null : details("Row…", rowForm(ids)),
      kind === "group" ? null : details("Mirror…", mirrorForm(ids)),
      kind === "group"
        ? button("Dissolve", () =>
            actions.edit(`Dissolve ${ids[0]}`, (/** @type {any} */ d) => edit.remove(d, ids), { selection: [] }),
          )
        : null,
      button("Delete", () => actions.remove(), { "data-keep": "delete", class: "careful" }),
    );
  }

  /** @param {string} words @param {any} content */
  const details = (words, content) =>
    h("details.popover", {}, h("summary", { "data-keep": words }, words), h("div.popover-body", {}, content));

  /** @param {(document: any) => {document: any, ids: string[]}} make @param {string} label */
  function place(make, label) {
    const made = make(store.get().document);
    actions.commit(made.document, label, { selection: made.ids, spot: null });
    actions.say(`${made.ids.join(", ")} added.`);
  }

  /** @param {string[]} ids */
  function rowForm(ids) {
    const unit = store.get().unit;
    const count = h("input", { type: "text", value: "3", "aria-label": "How many in all" });
    const dx = h("input", { type: "text", value: format(20.32, unit), "aria-label": "Each farther to the right" });
    const dy = h("input", { type: "text", value: "0", "aria-label": "Each farther to the rear" });
    return [
      h("label", {}, "In all ", count),
      h("label", {}, "Each to the right ", dx),
      h("label", {}, "Each to the rear ", dy),
      button("Make the row", () =>
        tried(() => {
          const n = Math.round(parseQuantity(count.value, "number"));
          if (n < 2 || n > 200) throw new QuantityError("A row has 2 to 200 in all.");
          const [x, y] = [parseQuantity(dx.value, "length", unit), parseQuantity(dy.value, "length", unit)];
          if (!x && !y) throw new QuantityError("They would all stand in the same place.");
          place((d) => arrange.row(d, ids, n, x, y), `Row of ${ids.join(", ")}`);
        }),
      ),
    ];
  }

  /** @param {string[]} ids */
  function mirrorForm(ids) {
    const { unit, document } = store.get();
    const plate = plateMiddle(document);
    const axis = h(
      "select",
      { "aria-label": "Which way" },
      h("option", { value: "x" }, "left and right"),
      h("option", { value: "y" }, "front and rear"),
    );
    const at = h("input", { type: "text", value: format(plate[0], unit), "aria-label": "About the line at" });
    axis.addEventListener("change", () => {
      at.value = format(plate[axis.value === "x" ? 0 : 1], unit);
    });
    return [
      h("label", {}, "Swap ", axis),
      h("label", {}, "About the line at ", at),
      button("Make the mirror image", () =>
        tried(() =>
          place(
            (d) => arrange.mirror(d, ids, axis.value, parseQuantity(at.value, "length", unit)),
            `Mirror ${ids.join(", ")}`,
          ),
        ),
      ),
    ];
  }

  /** @param {() => void} act */
  function tried(act) {
    try {
      act();
    } catch (error) {
      if (!(error instanceof QuantityError)) throw error;
      actions.say(error.message);
    }
  }

  /** @param {any} document @param {string[]} ids @param {any} state */
  function several(document, ids, state) {
    /** @type {[import("../model/arrange.js").Side, string][]} */
    const sides = [
      ["left", "Left edges"],
      ["middle", "Middles, left to right"],
      ["right", "Right edges"],
      ["front", "Front edges"],
      ["centre", "Middles, front to rear"],
      ["rear", "Rear edges"],
    ];
    const allLocked = ids.every((id) => find(document, id)?.item.locked);
    return [
      h(
        "header.card-head",
        {},
        h("h3", {}, `${ids.length} items`),
        h(
          "label.lock",
          {},
          h("input", {
            type: "checkbox",
            checked: allLocked,
            "data-keep": "lock",
            onchange: (/** @type {any} */ e) =>
              actions.edit(e.target.checked ? "Lock several" : "Unlock several", (/** @type {any} */ d) =>
                edit.lock(d, ids, e.target.checked),
              ),
          }),
          "Locked",
        ),
      ),
      h(
        "ul.chips",
        {},
        ids.map((id) =>
          h(
            "li",
            {},
            button(id, () => actions.pick([id]), { class: "chip", "data-keep": `chip-${id}` }),
          ),
        ),
      ),
      moves(state),
      h(
        "section.sub",
        { "aria-label": "Align and spread" },
        h("h4", {}, `In line with ${ids[0]}`),
        h(
          "div.doings",
          {},
          sides.map(([side, words]) =>
            button(
              words,
              () => actions.edit(`Align ${ids.length} items`, (/** @type {any} */ d) => arrange.align(d, ids, side)),
              { "data-keep": `align-${side}` },
            ),
          ),
        ),
        h("h4", {}, "Spread evenly"),
        h(
          "div.doings",
          {},
          button(
            "Left to right",
            () => actions.edit("Spread evenly", (/** @type {any} */ d) => arrange.spread(d, ids, "x")),
            { disabled: ids.length < 3 },
          ),
          button(
            "Front to rear",
            () => actions.edit("Spread evenly", (/** @type {any} */ d) => arrange.spread(d, ids, "y")),
            { disabled: ids.length < 3 },
          ),
        ),
      ),
      doings("", ids),
      h(
        "div.doings",
        {},
        button("Move together from now on", () => {
          const made = edit.group(store.get().document, ids, "");
          actions.commit(made.document, `Group ${made.id}`, { selection: [made.id] });
        }),
        button(
          "No longer together",
          () => actions.edit("Dissolve groups", (/** @type {any} */ d) => edit.ungroup(d, ids)),
          {
            disabled: !(document.groups ?? []).some((/** @type {any} */ g) =>
              ids.some((id) => (g.members ?? []).includes(id)),
            ),
          },
        ),
      ),
      ids.length === 2 ? between(document, ids, state.unit, stage.roots) : null,
    ];
  }

  /** While one item is dragged its card stays and only its numbers change. @returns {boolean} whether that was enough */
  function numbers() {
    const { draft, selection, unit } = store.get();
    const [id] = selection;
    const found = draft && selection.length === 1 ? find(draft, id) : null;
    if (!found || root.dataset.of !== id || (found.item.points ?? []).length !== Number(root.dataset.corners))
      return false;
    for (const input of /** @type {NodeListOf<HTMLInputElement>} */ (root.querySelectorAll("input[data-keep]"))) {
      const key = input.dataset.keep ?? "";
      if (input.type !== "text" || !key.startsWith(`${id}-`)) continue;
      const value = edit.dig(found.item, key.slice(id.length + 1).split("-"));
      if (typeof value === "number") input.value = format(value, unit, 3);
    }
    return true;
  }

  let waiting = false;
  store.watch(["selection", "document", "draft", "spot", "unit"], (/** @type {any} */ now) => {
    if (!now.draft) return draw();
    // While something is dragged the card keeps to the frames; the drawing comes first.
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      if (!numbers()) draw();
    });
  });
  return { draw };
}

/** @param {any} document */
function plateMiddle(document) {
  const outline = document.plate.outline;
  if (outline.shape !== "polygon") return [outline.x_mm, outline.y_mm];
  const xs = outline.vertices.map((/** @type {any} */ v) => v.x_mm);
  const ys = outline.vertices.map((/** @type {any} */ v) => v.y_mm);
  return [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
}
