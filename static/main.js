/** The page put together: state, server, drawing, panels. Everything it does at the start is here. */

import { createActions } from "./actions.js";
import { createElevations } from "./canvas/elevations.js";
import { createFit } from "./canvas/fit.js";
import { createGhosts } from "./canvas/ghosts.js";
import { createInStep } from "./canvas/instep.js";
import { createJoins } from "./canvas/joins.js";
import { createLandings } from "./canvas/landings.js";
import { createLabels } from "./canvas/labels.js";
import { createLayers } from "./canvas/layers.js";
import { createMeasureBar } from "./canvas/measurebar.js";
import { createMenu } from "./canvas/menu.js";
import { createOverlay } from "./canvas/overlay.js";
import { createPointer } from "./canvas/pointer.js";
import { createReadingLines } from "./canvas/readinglines.js";
import { createRulers } from "./canvas/rulers.js";
import { createSection } from "./canvas/section.js";
import { createShortcuts } from "./canvas/shortcuts.js";
import { createStage } from "./canvas/stage.js";
import { createTools } from "./canvas/tools.js";
import { byId } from "./dom.js";
import { differences } from "./model/differences.js";
import { createClipboard } from "./panels/clipboardkeys.js";
import { conflictDialog, settingsDialog, shortcutsDialog } from "./panels/dialogs.js";
import { once } from "./panels/form.js";
import { createFindings, keyOf } from "./panels/findings.js";
import { createFoot } from "./panels/foot.js";
import {
  createName,
  createTabs,
  createTheme,
  createToolBar,
  labelHistory,
  showLink,
  toggleMeasure,
  wireButtons,
} from "./panels/frame.js";
import { historyDialog } from "./panels/historydialog.js";
import { createItemList } from "./panels/itemlist.js";
import { createItemPanel } from "./panels/itempanel.js";
import { createMargin } from "./panels/margin.js";
import { createNotices } from "./panels/notices.js";
import { platesDialog, startDialog } from "./panels/platesdialog.js";
import { createRoom } from "./panels/room.js";
import { createToolColumn } from "./panels/toolcolumn.js";
import { withAnswer } from "./server/answer.js";
import { watchPresses } from "./pressing.js";
import { Away, Refused, api, sentence } from "./server/api.js";
import { createFreshness } from "./server/freshness.js";
import { createKnowing } from "./server/knowing.js";
import { listenElsewhere } from "./server/elsewhere.js";
import { createLive } from "./server/live.js";
import { createTrying } from "./server/trying.js";
import { Rerouter } from "./server/rerouting.js";
import { createSync } from "./server/sync.js";
import { createUnsent } from "./server/unsent.js";
import { firstState, fresh, remember } from "./settings.js";
import { createJourney, plateIn } from "./steps/journey.js";
import { createStepPanel } from "./steps/panel.js";
import { fetchRevisions } from "./steps/revisions.js";
import { createStepBar } from "./steps/stepbar.js";
import { createStore } from "./store.js";
import { createFollowing } from "./survey/hardwarefollows.js";
import { createPhoto } from "./survey/photolayer.js";

// The token has done its work: it is a cookie now, and need not stand in the address or the history.
if (location.search) history.replaceState(history.state, "", location.pathname + location.hash);

const store = createStore(firstState());
const { say, whisper } = createNotices();

const tab = sessionStorage.getItem("tab") ?? crypto.randomUUID();
sessionStorage.setItem("tab", tab);
const windows = new BroadcastChannel("plates");

const svg = byId("stage", SVGSVGElement);
const overlay = byId("overlay", SVGGElement);
const stage = createStage({ store, svg });

/** A hand that has not moved for so long holds still, ms. */
const STILL = 150;
let pause = 0;
/** While something moves, less is asked for. @param {string[]} want */
const isQuick = (want) => !want.includes("snaps");
const freshness = createFreshness({ store, wait: (run, ms) => window.setTimeout(run, ms), stop: clearTimeout });

const knowing = createKnowing(api.look);
/** A finding as a newer answer has it. @param {import("./types.js").Finding|null} finding @param {import("./types.js").Answer} answer */
const sameAs = (finding, answer) =>
  (finding && answer.findings?.find((one) => keyOf(one) === keyOf(finding))) ?? null;

const live = createLive({
  // While something moves, the rules that take long wait.
  ask: (document, want) =>
    knowing(document, want, { quick: isQuick(want), fixes: false, ellipse_scale: store.get().ellipseScale }),
  answered(raw, document, want) {
    const { draft, document: saved, finding } = store.get();
    // An answer about another plate comes too late.
    if (!draft && !saved) return;
    if (raw.drawing?.svg) stage.adopt(raw.drawing.svg, document, want);
    // While something moves the findings come first; the drawing is asked for when the hand holds still.
    else if (draft === document) {
      clearTimeout(pause);
      pause = window.setTimeout(() => {
        if (store.get().draft === document) live.ask(document, ["drawing"]);
      }, STILL);
    }
    const answer = withAnswer(store.get().answer, raw, want, isQuick(want));
    freshness.answered(document, want);
    store.set({ answer, finding: sameAs(finding, answer) });
  },
  // For those who watch the page from outside: whether what it shows is the last word.
  rest: (idle) => {
    document.documentElement.dataset.idle = idle ? "yes" : "no";
    freshness.rest(idle);
    const { answer, document: kept, draft, old } = store.get();
    const open = answer?.findings?.some((one) => !one.accepted) ?? false;
    if (idle && open && !answer?.quick && !draft && !old) void trying.start(kept);
    else trying.stop();
  },
  failed(error) {
    freshness.failed(sentence(error));
    if (error instanceof Away) void sync.wakeWhenBack();
    else if (!(error instanceof Refused)) throw error;
  },
});

const trying = createTrying({
  /** @param {import("./types.js").PlateDocument} document @param {AbortSignal} signal */
  ask: (document, signal) => knowing(document, ["findings"], {}, signal),
  tried(raw, document) {
    const { answer, document: kept, draft, finding } = store.get();
    // Without a fix there is nothing new to show.
    if (document !== kept || draft || !raw.findings?.some((one) => one.fix)) return;
    const now = { ...answer, findings: raw.findings };
    store.set({ answer: now, finding: sameAs(finding, now) });
  },
  rest: (idle) => {
    document.documentElement.dataset.fixes = idle ? "tried" : "waiting";
    store.set({ trying: !idle });
  },
});

const BROUGHT = {
  undo: "Undone.",
  redo: "Redone.",
  step: "The chosen step is shown. Redo goes forward again.",
  theirs: "The other window's plate is shown.",
  refused: "",
  elsewhere: "Changed in another window; shown here now.",
};

const sync = createSync({
  api,
  tab,
  storage: localStorage,
  wait: (ms) => new Promise((done) => setTimeout(done, ms)),
  onLink(link, waiting, why) {
    store.set({ link });
    showLink(link, waiting, why);
    const { plate } = store.get();
    if (link === "saved" && plate) windows.postMessage({ id: plate.id, state: plate.state });
  },
  onState(plate) {
    store.set({ plate });
    labelHistory(plate);
  },
  onDocument(document, why) {
    actions.show(document);
    if (BROUGHT[why]) say(BROUGHT[why]);
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
  onRefused: (error) => say(`Not taken: ${sentence(error)}`),
  onBack() {
    actions.refresh();
    unsent.send();
  },
});
const unsent = createUnsent({
  api,
  tab,
  isOpen: (id) => [String(store.get().plate?.id), plateIn(window.location.hash)].includes(id),
  idle: () => sync.flight,
  say,
});

const actions = createActions({ store, sync, live, say, whisper });
const tools = createTools({ store, actions, stage, api });
const rerouter = new Rerouter({
  wanted: () => store.get().rerouting,
  ask: (document, moved) => api.post("/api/reroute", { document, moved }),
  show: actions.draft,
  later: (act, ms) => setTimeout(act, ms),
});
const pointer = createPointer({ store, actions, tools, stage, svg, rerouter });
const showTab = createTabs(store);
const view = createFit({ store });
const { fit } = view;
createToolColumn({ store, actions, root: byId("tool-column") });
const { zoom } = createShortcuts({ store, actions, tools, pointer, stage, svg, help: shortcutsDialog, showTab, fit });
createInStep({ store, actions, api, sync });
createMenu({ store, actions, stage, tools, pointer, svg, board: byId("board"), fit });
createJoins({ store, stage, layer: overlay });
createOverlay({ store, stage, layer: overlay });
createLandings({ store, stage, layer: overlay });
createReadingLines({ store, layer: overlay });
createGhosts({ store, layer: overlay });
createLabels({ store, stage, svg });
createFollowing({ store, api, actions });
createPhoto({ store, api, layer: stage.photo });
createRulers({
  store,
  across: byId("ruler-across", SVGSVGElement),
  up: byId("ruler-up", SVGSVGElement),
  bar: byId("scale-bar"),
  place: byId("place"),
});
createSection({ store, api, root: byId("section") });
createMeasureBar({ store, actions, api, root: byId("measure-bar") });
createMargin({ store, showTab });
createElevations({ store, actions, api, root: byId("elevations"), button: byId("elevations-button") });
createStepBar({ store, actions, root: byId("steps") });
createStepPanel({ store, actions, api, ask, root: byId("step-panel") });
createFindings({ store, actions, api, root: byId("findings"), live: byId("say-findings") });
const itemPanel = createItemPanel({ store, actions, stage, api, ask, root: byId("item-panel") });
createClipboard({ store, actions });
createItemList({ store, actions, root: byId("items") });
createFoot({ store, actions, root: byId("foot") });
createLayers({ store, button: byId("layers-button"), panel: byId("layers") });
createName(store, actions);
createToolBar(store, actions, svg);
watchPresses();
createTheme(store);
remember(store);

/** Runs something that asks the server, and says what went wrong if it does. @param {string} what @param {() => Promise<void>} run */
async function ask(what, run) {
  try {
    await run();
  } catch (error) {
    say(`${what}: ${sentence(error)}`);
  }
}

/** The address names the plate; the browser's Back goes through the steps. */
const journey = createJourney({
  store,
  step: (name) => actions.step(name),
  async open(id) {
    await ask("The plate in the address", async () => {
      const plate = await api.open(id);
      // What was asked about another plate is no longer the question.
      document.querySelector("dialog")?.close();
      opened(plate);
    });
  },
});

/** Takes up a plate. @param {import("./types.js").StoredPlate} plate */
function opened(plate) {
  journey.plate(plate.id);
  store.set(fresh());
  freshness.forget();
  view.forget();
  const sent = unsent.sending();
  void unsent.orphans(plate.id).then(async (left) => {
    // What was being sent of it may have come in since it was asked for.
    await sent;
    const now = sent ? await api.open(plate.id).catch(() => plate) : plate;
    store.set({ document: sync.open(now, left) });
    // The steps say how far they are at once, also after a reload.
    void fetchRevisions({ api, store }, plate.id).catch(() => {});
    fit();
    itemPanel.draw();
    actions.refresh();
    unsent.send();
  });
}

const begin = () =>
  startDialog({
    api,
    opened,
    unit: store.get().unit,
    // The way of the job begins at its first step.
    begun(plate) {
      opened(plate);
      actions.step("measure");
    },
  });

wireButtons({
  undo: actions.undo,
  redo: actions.redo,
  history: () => once("history", () => ask("The history", () => historyDialog({ store, api, goTo: (number) => sync.goTo(number) }))),
  help: shortcutsDialog,
  settings: () => settingsDialog({ store }),
  "open-plates": () => platesDialog({ api, opened, current: () => store.get().plate, fresh: begin, left: unsent.left }),
  "zoom-in": () => zoom(1.25),
  "zoom-out": () => zoom(0.8),
  "zoom-fit": fit,
  heights: () => store.set({ heights: !store.get().heights }),
  "measure-button": () => toggleMeasure(store, actions),
});
view.watch();
listenElsewhere({ store, sync, windows, back: unsent.send });
createRoom({ store, svg, fit, isFitted: view.isFitted, isUnseen: view.isUnseen });
// The browser's own zoom would take the page, not the drawing.
svg.addEventListener("gesturestart", (event) => event.preventDefault());

/** Opens the plate that the address names, or else the one that was changed last. */
async function start() {
  void api.reference().then(
    (reference) => store.set({ reference }),
    () => {},
  );
  const asked = plateIn(window.location.hash);
  try {
    const id = asked || (await api.plates()).plates.find((plate) => !plate.deleted && !plate.fault)?.id;
    if (id) opened(await api.open(id));
    else begin();
  } catch (error) {
    if (error instanceof Refused && error.status === 404) {
      say("There is no such plate.");
      begin();
    } else {
      say(sentence(error));
      showLink("away", 0);
    }
  }
}

void start();
