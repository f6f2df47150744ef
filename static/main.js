/** The page put together: state, server, drawing, sheets. Everything it does at the start is here. */

import { createActions, WANT_RESTING } from "./actions.js";
import { Away, Refused, api } from "./server/api.js";
import { createCard } from "./panels/item.js";
import { conflictDialog, keysDialog, platesDialog, sentence, startDialog, viewDialog } from "./panels/dialogs.js";
import { differences } from "./model/differences.js";
import { byId, h } from "./dom.js";
import { createFindings, keyOf } from "./panels/findings.js";
import { createFoot } from "./panels/foot.js";
import { createItems } from "./panels/items.js";
import { createKeys } from "./canvas/shortcuts.js";
import { createLive } from "./server/live.js";
import { takeLook } from "./server/answer.js";
import { createGhosts } from "./canvas/ghosts.js";
import { createOverlay } from "./canvas/overlay.js";
import { createPointer } from "./canvas/pointer.js";
import { createSection } from "./canvas/section.js";
import { createRulers } from "./canvas/rulers.js";
import { createSheets } from "./steps/panel.js";
import { createStage } from "./canvas/stage.js";
import { createStore } from "./store.js";
import { createSync } from "./server/sync.js";
import { createTools } from "./canvas/tools.js";
import { fitted, makeView } from "./geometry/view.js";
import { createWay } from "./panels/stepbar.js";
import { createPhoto } from "./survey/photo.js";
import { LAYER_NAMES, createLayers } from "./canvas/layers.js";

const memory = {
  get: (/** @type {string} */ key, /** @type {any} */ usual) => {
    try {
      return JSON.parse(localStorage.getItem(key) ?? "null") ?? usual;
    } catch {
      return usual;
    }
  },
  set: (/** @type {string} */ key, /** @type {any} */ value) => {
    try {
      localStorage.setItem(key, JSON.stringify(value));
    } catch {
      // A full storage loses a setting, never work.
    }
  },
};

const store = createStore(
  /** @type {any} */ ({
    plate: null,
    document: null,
    draft: null,
    selection: [],
    spot: null,
    view: makeView(1, 0, 400),
    size: [800, 600],
    tool: null,
    course: [],
    measure: [],
    marquee: null,
    sectionLine: null,
    section: null,
    snap: null,
    snapping: true,
    pointer: null,
    pen: null,
    penShown: false,
    hover: null,
    finding: null,
    step: memory.get("step", "lay-out"),
    look: null,
    reference: null,
    photoPlace: null,
    revisions: [],
    tab: "items",
    layers: memory.get(
      "layers",
      Object.fromEntries(LAYER_NAMES.map(([name]) => [name, name === "seal" ? "dimmed" : "shown"])),
    ),
    heights: false,
    ellipseScale: 1,
    unit: memory.get("unit", "mm"),
    theme: memory.get("theme", "auto"),
    link: "saved",
  }),
);

const tab = sessionStorage.getItem("tab") ?? crypto.randomUUID();
sessionStorage.setItem("tab", tab);
// Held as long as this tab lives: what a closed tab has left unsaved can be told from what an open one is saving.
navigator.locks?.request(`tab:${tab}`, () => new Promise(() => {}));
const windows = new BroadcastChannel("plates");

const whisper = (/** @type {string} */ words) => {
  byId("say").textContent = words;
};

const say = (/** @type {string} */ words) => {
  byId("say").textContent = words;
  notice(words);
};

let noticeTimer = 0;
/** @param {string} words */
function notice(words) {
  const line = byId("notice");
  line.textContent = words;
  line.hidden = !words;
  clearTimeout(noticeTimer);
  noticeTimer = window.setTimeout(() => {
    line.hidden = true;
  }, 5000);
}

const svg = byId("stage");
const stage = createStage({ store, svg });

/** A hand that has not moved for so long holds still. */
const STILL_MS = 150;
let pause = 0;

const live = createLive({
  // While something moves, the rules that take long wait.
  ask: (document, want) =>
    api.look(document, want, { quick: !want.includes("snaps"), ellipse_scale: store.get().ellipseScale }),
  answered(answer, document, want) {
    const current = store.get().draft ?? store.get().document;
    // An answer about another plate comes too late.
    if (!current) return;
    if (answer.drawing?.svg) stage.adopt(answer.drawing.svg, document, want);
    // While something moves the findings come first; the drawing is asked for when the hand holds still.
    else if (store.get().draft === document) {
      clearTimeout(pause);
      pause = window.setTimeout(() => {
        if (store.get().draft === document) live.ask(document, ["drawing"]);
      }, STILL_MS);
    }
    const look = takeLook(store.get().look, answer, want);
    const finding = store.get().finding;
    const again = finding ? (look.findings?.find((/** @type {any} */ f) => keyOf(f) === keyOf(finding)) ?? null) : null;
    store.set({ look, finding: again });
  },
  // For those who watch the page from outside: whether what it shows is the last word.
  rest: (idle) => {
    document.documentElement.dataset.idle = idle ? "yes" : "no";
  },
  failed(error) {
    if (error instanceof Refused)
      store.set({ look: { ...(store.get().look ?? {}), reasons: { findings: error.message } } });
    else if (error instanceof Away) void sync.wakeWhenBack();
    else throw error;
  },
});

const sync = createSync({
  api,
  tab,
  storage: localStorage,
  wait: (ms) => new Promise((done) => setTimeout(done, ms)),
  onLink(link, waiting) {
    store.set({ link });
    const words = {
      saved: "Saved",
      saving: "Saving…",
      away: `Server away; ${waiting === 1 ? "1 change" : `${waiting} changes`} kept here`,
      conflict: "Changed in another window",
    };
    const signElement = byId("link-sign");
    signElement.textContent = words[link];
    signElement.dataset.link = link;
    if (link === "saved" && store.get().plate)
      windows.postMessage({ id: store.get().plate.id, state: store.get().plate.state });
  },
  onState(plate) {
    store.set({ plate });
    for (const [name, label, keys] of [
      ["undo", plate.canUndo, "Ctrl Z"],
      ["redo", plate.canRedo, "Ctrl Shift Z"],
    ]) {
      const button = byId(name);
      button.disabled = !label;
      button.title = label ? `${name === "undo" ? "Undo" : "Do again"}: ${label} (${keys})` : keys;
    }
  },
  onDocument(document, why) {
    actions.show(document);
    const words = {
      undo: "Undone.",
      redo: "Done again.",
      theirs: "The other window's plate is shown.",
      refused: "",
      elsewhere: "Changed in another window; shown here now.",
    };
    if (words[why]) say(words[why]);
  },
  onConflict(theirs, mine) {
    conflictDialog({
      differences: differences(theirs.document, mine),
      async choose(choice) {
        const copy = await sync.resolve(choice);
        if (copy) opened(await api.open(copy));
      },
    });
  },
  onRefused(error) {
    say(`Not taken: ${sentence(error)}`);
  },
  onBack() {
    live.ask(store.get().document, WANT_RESTING);
  },
});

const actions = createActions({ store, sync, live, say, whisper });
const tools = createTools({ store, actions, stage });
const pointer = createPointer({ store, actions, tools, stage, svg });
createOverlay({ store, stage, layer: byId("overlay") });
createGhosts({ store, actions, layer: byId("overlay"), svg });
createPhoto({ store, api, layer: stage.photo });
createRulers({
  store,
  across: byId("ruler-across"),
  up: byId("ruler-up"),
  bar: byId("scale-bar"),
  place: byId("place"),
});
createSection({ store, root: byId("section") });
createWay({ store, actions, root: byId("way") });
createSheets({ store, actions, api, ask, root: byId("sheet") });
createFindings({ store, actions, root: byId("findings"), live: byId("say-findings") });
const card = createCard({ store, actions, stage, root: byId("card") });
createItems({ store, actions, root: byId("items") });
createFoot({ store, actions, root: byId("foot") });
createLayers({ store, button: byId("layers-button"), panel: byId("layers") });
const keys = createKeys({ store, actions, tools, pointer, stage, svg, help: keysDialog, showTab });

/** Runs something that asks the server, and says what went wrong if it does. @param {string} what @param {() => Promise<any>} run */
async function ask(what, run) {
  try {
    await run();
  } catch (error) {
    say(`${what}: ${sentence(error)}`);
  }
}

let fresh = true;

/** Takes up a plate. @param {any} plate */
function opened(plate) {
  window.history.replaceState(null, "", `#plate=${plate.id}`);
  store.set({
    selection: [],
    spot: null,
    draft: null,
    look: null,
    finding: null,
    tool: null,
    course: [],
    measure: [],
    sectionLine: null,
    section: null,
    revisions: [],
  });
  fresh = true;
  void orphans(plate.id).then((left) => {
    const document = sync.open(plate, left);
    store.set({ document });
    fit();
    card.draw();
    live.ask(document, WANT_RESTING);
  });
}

/** What tabs that are closed now have left unsaved of a plate. @param {number|string} id */
async function orphans(id) {
  const held = new Set(((await navigator.locks?.query())?.held ?? []).map((lock) => lock.name));
  const prefix = `pending:${id}:`;
  return Object.keys(localStorage).filter(
    (key) => key.startsWith(prefix) && !held.has(`tab:${key.slice(prefix.length)}`),
  );
}

/** Everything on the screen. */
function fit() {
  const { document, size, look } = store.get();
  if (!document) return;
  const outline = document.floor.outline;
  const box =
    look?.drawing?.box ??
    (outline.shape === "rectangle"
      ? [
          outline.x_mm - outline.width_mm / 2,
          outline.y_mm - outline.depth_mm / 2,
          outline.x_mm + outline.width_mm / 2,
          outline.y_mm + outline.depth_mm / 2,
        ]
      : [0, 0, 400, 300]);
  store.set({ view: fitted(/** @type {any} */ (box), size, 16) });
}

/** @param {string} name */
function showTab(name) {
  for (const [key, tabId, panel] of [
    ["picked", "tab-picked", "card"],
    ["items", "tab-items", "items"],
  ]) {
    const chosen = key === name;
    byId(tabId).setAttribute("aria-selected", String(chosen));
    byId(tabId).tabIndex = chosen ? 0 : -1;
    byId(panel).hidden = !chosen;
  }
  store.set({ tab: name });
}

function wire() {
  byId("undo").addEventListener("click", () => actions.undo());
  byId("redo").addEventListener("click", () => actions.redo());
  byId("help").addEventListener("click", keysDialog);
  byId("settings").addEventListener("click", () => viewDialog({ store }));
  byId("open-plates").addEventListener("click", () =>
    platesDialog({ api, opened, current: () => store.get().plate, fresh: begin }),
  );
  byId("zoom-in").addEventListener("click", () => keys.zoom(1.25));
  byId("zoom-out").addEventListener("click", () => keys.zoom(0.8));
  byId("zoom-fit").addEventListener("click", fit);
  byId("heights").addEventListener("click", () => store.set({ heights: !store.get().heights }));
  byId("measure-button").addEventListener("click", async () => {
    const { TOOLS } = await import("./canvas/tools.js");
    actions.tool(store.get().tool?.name === "measure" ? null : TOOLS.measure);
  });
  for (const name of ["picked", "items"]) {
    byId(`tab-${name}`).addEventListener("click", () => showTab(name));
    byId(`tab-${name}`).addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
      if (event.key !== "ArrowLeft" && event.key !== "ArrowRight") return;
      const other = name === "picked" ? "items" : "picked";
      showTab(other);
      byId(`tab-${other}`).focus();
    });
  }
  const name = byId("plate-name");
  name.addEventListener("change", () =>
    actions.edit("Name the plate", (/** @type {any} */ d) => ({ ...d, name: name.value.trim() })),
  );
  store.watch(["document"], (now) => {
    const words = now.document?.name ?? "";
    if (document.activeElement !== name) name.value = words;
    document.title = words ? `${words} – plate sketcher` : "Plate sketcher";
  });
  store.watch(["tool", "heights"], (now) => {
    byId("measure-button").setAttribute("aria-pressed", String(now.tool?.name === "measure"));
    byId("heights").setAttribute("aria-pressed", String(now.heights));
    const hand = byId("in-hand");
    hand.hidden = !now.tool;
    hand.replaceChildren(
      ...(now.tool
        ? [
            h("strong", {}, now.tool.title),
            ` ${now.tool.help} `,
            h("button", { type: "button", onclick: () => actions.tool(null) }, "Put away"),
          ]
        : []),
    );
    svg.classList.toggle("with-tool", Boolean(now.tool));
  });
  store.watch(["theme"], theme);
  store.watch(["theme", "unit", "layers", "step"], (now) => {
    for (const key of ["theme", "unit", "layers", "step"]) memory.set(key, now[key]);
  });
  store.watch(["selection"], (now) => {
    if (now.selection.length) showTab("picked");
  });
  store.watch(["look"], () => {
    // The first drawing says how far everything reaches.
    if (fresh && store.get().look?.drawing) {
      fresh = false;
      fit();
    }
  });
  store.watch(["sectionLine", "document"], section);
  windows.addEventListener("message", ({ data }) => {
    if (store.get().plate && data?.id === store.get().plate.id && !store.get().draft) void sync.elsewhere(data.state);
  });
  new ResizeObserver(([entry]) => {
    const { width, height } = entry.contentRect;
    if (!width || !height) return;
    store.set({ size: [width, height] });
    if (fresh) fit();
  }).observe(svg);
  // The browser's own zoom would take the page, not the drawing.
  svg.addEventListener("gesturestart", (/** @type {Event} */ event) => event.preventDefault());
}

function theme() {
  const { theme } = store.get();
  if (theme === "auto") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = theme;
}

async function section() {
  const { sectionLine, document } = store.get();
  if (!document || sectionLine?.length !== 2) return;
  try {
    const answer = await api.post("/api/section", { document, line: sectionLine });
    if (store.get().sectionLine === sectionLine) store.set({ section: answer });
  } catch (error) {
    store.set({ section: { reason: sentence(error) } });
  }
}

function begin() {
  startDialog({ api, opened, unit: store.get().unit });
}

async function start() {
  wire();
  theme();
  void api.reference().then(
    (reference) => store.set({ reference }),
    () => {},
  );
  const asked = /plate=(\d+)/.exec(window.location.hash)?.[1];
  try {
    if (asked) {
      opened(await api.open(asked));
      return;
    }
    const { plates } = await api.plates();
    const last = plates.find((/** @type {any} */ p) => !p.deleted && !p.fault);
    if (last) opened(await api.open(last.id));
    else begin();
  } catch (error) {
    if (error instanceof Refused && error.status === 404) {
      say("That plate is not here.");
      begin();
    } else {
      say(sentence(error));
      byId("link-sign").textContent = "Server away";
    }
  }
}

void start();
