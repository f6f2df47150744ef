/**
 * Saving as it happens, so that nothing is lost: every finished edit goes into a queue, the queue is kept in the
 * browser's own storage, and it goes to the server one by one. When the server is away the queue waits; when the plate
 * has been changed elsewhere meanwhile, the user is asked, and neither side is overwritten before.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {"saved"|"saving"|"away"|"stuck"|"conflict"} Link  away: no server; stuck: it is there and cannot keep anything
 * @typedef {{document: PlateDocument, label: string}} Entry
 */

import { Away, Refused } from "./api.js";

/** More waiting edits than this are drawn together into the last one: only undo steps are lost by that. */
const MOST_WAITING = 60;

/** More undos than this are not remembered while one is under way: a key that is held must stop when it is let go. */
const MOST_STEPS = 4;

/** What to do when the browser cannot hold what the server does not take. */
const KEEP_OPEN = "The browser's storage is full: keep this window open";

/** Between two tries, at first and at most, ms. */
const FIRST_PAUSE = 500;
const LAST_PAUSE = 4000;
const longer = (/** @type {number} */ pause) => Math.min(pause * 1.5, LAST_PAUSE);

/** What to do about a store that keeps nothing, by the server's word for its cause. @type {Readonly<Record<string, string>>} */
const REMEDIES = {
  full: "The disk is full: make room on it",
  held: "Another program holds the file of plates: close it",
  "read-only": "The file of plates cannot be written: see its permissions",
  damaged: "The file of plates is damaged: put a backup in its place",
};

/** Why the server keeps nothing, in words, with what to do about it. @param {Refused} error */
export const remedy = ({ code, message, cause }) =>
  REMEDIES[cause] ?? (code === "store" ? message : "The server fails at saving: see what it prints");

/** What would be undone or redone, in words; empty when there is none. @param {unknown} given */
const labelOf = (given) => (typeof given === "string" ? given : given ? "the last change" : "");

/**
 * @param {{
 *   api: {save: Function, undo: Function, redo: Function, goTo?: Function, open: Function, create: Function, ping: Function},
 *   storage: {getItem: (key: string) => string|null, setItem: (key: string, value: string) => void, removeItem: (key: string) => void},
 *   tab: string,
 *   wait: (ms: number) => Promise<void>,
 *   onLink: (link: Link, waiting: number, why: string) => void,
 *   onState: (plate: {id: string, state: number, canUndo: string, canRedo: string}) => void,
 *   onDocument: (document: PlateDocument, why: "undo"|"redo"|"step"|"theirs"|"refused"|"elsewhere") => void,
 *   onConflict: (theirs: {state: number, document: PlateDocument}, mine: PlateDocument) => void,
 *   onRefused: (error: Refused) => void,
 *   onBack?: () => void,
 * }} parts
 */
export function createSync({
  api,
  storage,
  tab,
  wait,
  onLink,
  onState,
  onDocument,
  onConflict,
  onRefused,
  onBack = () => {},
}) {
  let id = "";
  let base = 0;
  /** @type {PlateDocument} */
  let kept = /** @type {any} */ (null); // any: nothing is asked of it before a plate is open
  /** @type {Entry[]} */
  let queue = [];
  let busy = false;
  let canUndo = "";
  let canRedo = "";
  /** @type {Link} */
  let link = "saved";
  /** Why nothing is kept, while the link is stuck. */
  let why = "";
  /** Whether the browser holds what waits. */
  let held = true;
  /** Undo and redo go one after the other. @type {Promise<unknown>} */
  let stepping = Promise.resolve();
  let steps = 0;
  let edits = 0;
  /** @type {{state: number, document: PlateDocument}|null} */
  let theirs = null;

  const key = () => `pending:${id}:${tab}`;

  function setLink(/** @type {Link} */ now, words = "") {
    link = now;
    why = words;
    report();
  }

  const report = (/** @type {Link} */ now = link) =>
    onLink(now, queue.length, held ? why : [why, KEEP_OPEN].filter(Boolean).join(". "));

  function keep() {
    held = true;
    if (!queue.length) {
      storage.removeItem(key());
      return;
    }
    for (const entries of [queue, queue.slice(-1)]) {
      try {
        storage.setItem(key(), JSON.stringify({ base, queue: entries }));
        return;
      } catch {
        // The browser's storage is full: the newest state alone is kept.
      }
    }
    held = false;
  }

  function took(/** @type {{state: number, can_undo: string, can_redo: string}} */ answer) {
    base = answer.state;
    canUndo = labelOf(answer.can_undo);
    canRedo = labelOf(answer.can_redo);
    tell();
  }

  const tell = () => onState({ id, state: base, canUndo: queue[queue.length - 1]?.label || canUndo, canRedo });

  async function pump() {
    if (busy || steps || link === "conflict") return;
    busy = true;
    let wasAway = false;
    let pause = FIRST_PAUSE;
    while (queue.length) {
      const entry = queue[0];
      if (link !== "away" && link !== "stuck") setLink("saving");
      try {
        const answer = await api.save(id, base, entry.document, entry.label);
        queue.shift();
        kept = entry.document;
        took(answer);
        keep();
        setLink(queue.length ? "saving" : "saved");
      } catch (error) {
        if (clash(error, queue[queue.length - 1].document)) {
          busy = false;
          return;
        }
        if (error instanceof Refused && error.status < 500) {
          // What came after was built on it: all of it goes back to what the server has.
          queue = [];
          keep();
          setLink("saved");
          tell();
          onDocument(kept, "refused");
          onRefused(error);
          break;
        }
        wasAway = true;
        if (error instanceof Refused) {
          // It answers, and cannot keep anything: a full disk, a file that another program holds.
          setLink("stuck", remedy(error));
          await wait(pause);
          pause = longer(pause);
          continue;
        }
        setLink("away");
        await back();
      }
    }
    if (wasAway && !queue.length) onBack();
    busy = false;
    if (!queue.length && !theirs) setLink("saved");
  }

  /** Whether the plate was changed elsewhere meanwhile; then the user is asked. @param {unknown} error @param {PlateDocument} mine */
  function clash(error, mine) {
    if (!(error instanceof Refused) || error.status !== 409) return false;
    const { state, document } = error.body ?? {};
    if (state === undefined || !document) return false;
    theirs = { state, document };
    setLink("conflict");
    onConflict(theirs, mine);
    return true;
  }

  /** Waits until the server answers again. */
  async function back() {
    for (let pause = FIRST_PAUSE; ; pause = longer(pause)) {
      await wait(pause);
      try {
        await api.ping();
        return;
      } catch (error) {
        if (!(error instanceof Away) && !(error instanceof Refused)) throw error;
      }
    }
  }

  /** One step after the other: a second one that started from the same state would be a conflict with oneself. @param {"undo"|"redo"|number} which a number: to that step of the history */
  function step(which) {
    if (steps >= MOST_STEPS) return stepping;
    steps += 1;
    const asked = edits;
    stepping = (steps === 1 ? stepped(which, asked) : stepping.then(() => stepped(which, asked))).finally(() => {
      steps -= 1;
      // Edits made meanwhile have waited.
      if (!steps && queue.length) void pump();
    });
    return stepping;
  }

  /** @param {"undo"|"redo"|number} which @param {number} asked how many edits there were when it was asked for */
  async function stepped(which, asked) {
    if (busy && link !== "away" && link !== "stuck") await idle();
    if (link === "conflict") return;
    if (queue.length) {
      // An edit that came after it stays.
      if (which !== "undo" || edits > asked) return;
      // Not saved yet, so it can simply be taken out of the queue.
      const first = busy ? 1 : 0;
      if (queue.length <= first) return;
      queue.pop();
      keep();
      tell();
      onDocument(queue.length ? queue[queue.length - 1].document : kept, "undo");
      return;
    }
    const far = typeof which === "number";
    if (!far && (which === "undo" ? !canUndo : !canRedo)) return;
    try {
      setLink("saving");
      const answer = await (far ? api.goTo?.(id, base, which) : api[which](id, base));
      kept = answer.document;
      took(answer);
      setLink(queue.length ? "saving" : "saved");
      // What was edited meanwhile is newer, and is saved on top.
      if (!queue.length) onDocument(answer.document, far ? "step" : which);
    } catch (error) {
      missed(error);
    }
  }

  /** An undo that did not come about. @param {unknown} error */
  function missed(error) {
    if (error instanceof Away) {
      setLink("saved");
      return void wake();
    }
    if (error instanceof Refused && error.status === 409 && !queue.length && error.body?.document) {
      // Nothing of one's own is at stake: the other window's state is shown, and that can be undone.
      kept = error.body.document;
      took(/** @type {any} */ ({ can_undo: "", can_redo: "", ...error.body }));
      setLink("saved");
      return onDocument(kept, "elsewhere");
    }
    setLink("saved");
    if (error instanceof Refused) onRefused(error);
  }

  /** The server did not answer a question: says so, and when it is back. Edits that wait see to that themselves. */
  async function wake() {
    if (queue.length || link !== "saved") return;
    setLink("away");
    await back();
    if (queue.length || busy) return;
    setLink("saved");
    onBack();
  }

  async function idle() {
    while (busy && link !== "away" && link !== "stuck" && link !== "conflict") await wait(10);
  }

  return {
    /**
     * Takes up a plate as the server has it, and whatever this browser still holds of it unsaved.
     * @param {{id: string, state: number, document: PlateDocument, can_undo: string, can_redo: string}} plate
     * @param {string[]} [orphans] keys of storage that tabs since closed have left
     * @returns {PlateDocument} what to show
     */
    open(plate, orphans = []) {
      id = plate.id;
      kept = plate.document;
      queue = [];
      theirs = null;
      link = "saved";
      took(plate);
      for (const name of [key(), ...orphans]) {
        const text = storage.getItem(name);
        if (!text) continue;
        if (name !== key()) storage.removeItem(name);
        let pending;
        try {
          pending = JSON.parse(text);
        } catch {
          continue;
        }
        if (!pending?.queue?.length) continue;
        queue = pending.queue;
        if (pending.base !== base) {
          theirs = { state: base, document: kept };
          keep();
          setLink("conflict");
          const mine = queue[queue.length - 1].document;
          onConflict(theirs, mine);
          return mine;
        }
        keep();
        void pump();
        return queue[queue.length - 1].document;
      }
      setLink("saved");
      return kept;
    },
    /** A finished edit. @param {PlateDocument} document @param {string} label */
    save(document, label) {
      edits += 1;
      queue.push({ document, label });
      if (queue.length > MOST_WAITING) queue.splice(1, queue.length - MOST_WAITING);
      canRedo = "";
      keep();
      tell();
      report(link === "saved" ? "saving" : link);
      void pump();
    },
    undo: () => step("undo"),
    redo: () => step("redo"),
    /** To a step of the history, however far. @param {number} number */
    goTo: (number) => step(number),
    /** The user's answer to a conflict. @param {"mine"|"theirs"|"copy"} choice @returns {Promise<string|null>} the id of the copy, for "copy" */
    async resolve(choice) {
      if (!theirs) return null;
      const mine = queue[queue.length - 1]?.document ?? kept;
      const label = queue[queue.length - 1]?.label ?? "Kept";
      const other = theirs;
      if (choice === "copy") {
        const made = await api.create({ document: { ...mine, name: `${mine.name || "Plate"} (copy)`.slice(0, 120) } });
        queue = [];
        keep();
        theirs = null;
        base = other.state;
        kept = other.document;
        setLink("saved");
        onDocument(kept, "theirs");
        return made.id;
      }
      theirs = null;
      base = other.state;
      kept = other.document;
      if (choice === "theirs") {
        queue = [];
        keep();
        canUndo = "Kept";
        tell();
        setLink("saved");
        onDocument(kept, "theirs");
        return null;
      }
      queue = [{ document: mine, label }];
      keep();
      setLink("saving");
      await pump();
      return null;
    },
    /** Another window has saved this plate, or may have: looks, and takes it. @param {number} [state] what it is said to be at */
    async elsewhere(state = Infinity) {
      const quiet = () => !queue.length && !busy && !steps && link === "saved";
      if (state <= base || !id || !quiet()) return;
      const asked = id;
      try {
        const plate = await api.open(id);
        if (asked !== id || !quiet() || plate.state <= base || !plate.document) return;
        kept = plate.document;
        took(plate);
        onDocument(kept, "elsewhere");
      } catch {
        // It will come out at the next save.
      }
    },
    wakeWhenBack: wake,
    get waiting() {
      return queue.length;
    },
    get link() {
      return link;
    },
  };
}
