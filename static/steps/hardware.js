/** Boards, cards and devices added to the case: ready sets, parts of the library, or bare ones to be typed in. */

import { h } from "../dom.js";
import { FIELDS } from "../format.js";
import { withPart } from "../model/library.js";
import { READY_SETS, addReady } from "../model/readysets.js";
import { add } from "../model/edit.js";
import { boardFor, onBoard } from "../model/onboard.js";
import { button } from "../panels/form.js";
import { kept } from "../panels/savepart.js";
import { libraryDialog } from "../panels/librarydialog.js";

/**
 * @typedef {import("../types.js").Kinds} Kinds
 * @typedef {import("../model/library.js").Part} Part
 * @typedef {import("./parts.js").Context} Context
 */

/** Kinds of device that coolant runs through. @type {string[]} */
const FLOWED = ["block", "radiator", "pump", "flow-meter", "filter", "valve", "reservoir"];

/** What a new board is by its role: usual sizes, to be changed by number. @type {Record<string, Partial<Kinds["board"]>>} */
const BOARDS = {
  mainboard: { width_mm: 244, depth_mm: 244, z_mm: 60 },
  card: { width_mm: 200, depth_mm: 110, posture: "standing", z_mm: 60 },
  riser: { width_mm: 18, depth_mm: 86, z_mm: 40, slots: 1, first_slot_mm: 9 },
};

/** @param {string} kind @returns {Partial<Kinds["device"]>} */
const newDevice = (kind) => ({
  z_mm: 60,
  kind: /** @type {Kinds["device"]["kind"]} */ (kind),
  outline: { shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 60, depth_mm: 60 },
  height_mm: 30,
  ports: FLOWED.includes(kind)
    ? [
        { id: "in", u_mm: -20, flow: "in" },
        { id: "out", u_mm: 20, flow: "out" },
      ]
    : [],
});

/** The middle of what is drawn, to the millimetre, mm. @param {Context["store"]} store @returns {import("../types.js").Point} */
function middle(store) {
  const [left, front, right, rear] = store.get().answer?.drawing?.box ?? [0, 0, 400, 300];
  return [Math.round((left + right) / 2), Math.round((front + rear) / 2)];
}

/** @param {Context} context */
export function hardware(context) {
  const { store, actions, local } = context;
  const { document } = store.get();
  /** @param {"device"|"board"} kind @param {object} values */
  const added = (kind, values) => {
    const [x_mm, y_mm] = middle(store);
    const { document, selection } = store.get();
    const board = kind === "device" ? boardFor(document, selection) : null;
    const made = add(document, kind, { x_mm, y_mm, ...values, ...(board ? onBoard(board) : {}) });
    actions.commit(made.document, `Add ${made.id}`, { selection: [made.id] });
  };
  const ready = (/** @type {string} */ set) => {
    const made = addReady(store.get().document, set, middle(store));
    actions.commit(made.document, `Add ${made.ids.join(", ")}`, { selection: [made.ids[0]] });
  };
  askForParts(context);
  /** @type {Part[]} */
  const parts = [...(local.parts?.parts ?? []), ...(local.parts?.starters ?? [])];
  const chosen = (/** @type {string} */ i) => parts[Number(i)];
  return [
    h(
      "p.quiet",
      {},
      "What stands above the plate. Select one to change its place, height, ports and figures. With a board or a card selected, a device is put onto it.",
    ),
    chooser(
      local,
      "ready-set",
      "Ready set",
      READY_SETS.map(({ id, title }) => [id, title]),
      ready,
      (id) => READY_SETS.find((set) => set.id === id)?.words ?? "",
      // Where nothing stands yet, hardware comes first.
      !document.boards?.length && !document.devices?.length && !document.ports?.length,
    ),
    parts.length
      ? chooser(local, "part", "Part", parts.map((part, i) => [String(i), part.name]), (i) => {
          const why = usePart(context, chosen(i));
          if (why) actions.say(why);
        }, (i) => chosen(i)?.assumed ?? "", Boolean(document.boards?.length) && !document.devices?.length && !document.ports?.length)
      : null,
    chooser(local, "device-kind", "Device", FIELDS.Device.kind.options, (kind) => added("device", newDevice(kind))),
    chooser(local, "board-role", "Board", FIELDS.Board.role.options, (role) => added("board", { role, ...BOARDS[role] })),
    h(
      "div.actions-row",
      {},
      button("Library of parts…", () => openLibrary(context), { "data-keep": "library", "aria-haspopup": "dialog" }),
    ),
  ];
}

/** The library is asked for once, and again when a part has been kept elsewhere on the page. @param {Context} context */
function askForParts({ api, local, again }) {
  if (local.partsAsked === kept.count) return;
  local.partsAsked = kept.count;
  api.parts().then(
    (found) => {
      local.parts = found;
      again();
    },
    () => {
      local.partsAsked = -1;
    },
  );
}

/** @param {Context} context @param {Part} part @returns {string} what is in the way, empty when nothing is */
function usePart({ store, actions }, part) {
  const { document, selection } = store.get();
  const made = withPart(document, part, middle(store), selection);
  if ("problem" in made) return made.problem;
  actions.commit(made.document, `Add ${part.name}`, { selection: made.ids });
  return "";
}

/** @param {Context} context */
function openLibrary(context) {
  const { api, ask, local, again } = context;
  return ask("The library", async () => {
    local.parts = await api.parts();
    libraryDialog(
      {
        api,
        use: (part) => usePart(context, part),
        changed: (parts) => {
          local.parts = parts;
          again();
        },
      },
      local.parts,
    );
  });
}

/**
 * A choice with a button, and a line about what is chosen. The choice outlives a redraw: an answer that comes between
 * choosing and adding must not change what is added.
 * @param {import("../types.js").Memory} local the step's memory @param {string} id @param {string} label @param {string[][]} options @param {(value: string) => void} act @param {(value: string) => string} [about] @param {boolean} [main] whether it is the step's main action
 */
function chooser(local, id, label, options, act, about, main = false) {
  local.chosen ??= {};
  const line = h("p.quiet.chooser-about", { id: `${id}-about` });
  const held = options.some(([value]) => value === local.chosen[id]) ? local.chosen[id] : options[0]?.[0];
  const choice = h(
    "select",
    {
      id,
      "data-keep": id,
      "aria-describedby": about ? line.id : null,
      onchange: () => {
        local.chosen[id] = choice.value;
        line.textContent = about?.(choice.value) ?? "";
      },
    },
    options.map(([value, words]) => h("option", { value, selected: value === held }, words)),
  );
  line.textContent = about?.(held ?? "") ?? "";
  return [
    h(
      "div.chooser",
      {},
      h("label", { for: id }, label),
      choice,
      button("Add", () => act(choice.value), {
        "data-keep": `${id}-add`,
        "aria-label": `Add the ${label.toLowerCase()}`,
        class: main ? "do" : "",
      }),
    ),
    about ? line : null,
  ];
}
