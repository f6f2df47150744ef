/**
 * Saving as it happens, so that nothing is lost: every finished edit goes into a queue, the queue is kept in the
 * browser's own storage, and it goes to the server one by one. When the server is away the queue waits; when the plate
 * has been changed elsewhere meanwhile, the user is asked, and neither side is overwritten before.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {"saved"|"saving"|"away"|"conflict"} Link
 * @typedef {{document: PlateDocument, label: string}} Entry
 */

import { Away, Refused } from "./api.js";

/** More waiting edits than this are drawn together into the last one: only undo steps are lost by that. */
const MOST_WAITING = 60;

/** What would be undone or done again, in words; empty when there is none. @param {unknown} given */
const labelOf = (given) => (typeof given === "string" ? given : given ? "the last change" : "");

/**
 * @param {{
 *   api: {save: Function, undo: Function, redo: Function, open: Function, create: Function, ping: Function},
 *   storage: {getItem: (key: string) => string|null, setItem: (key: string, value: string) => void, removeItem: (key: string) => void},
 *   tab: string,
 *   wait: (ms: number) => Promise<void>,
 *   onLink: (link: Link, waiting: number) => void,
 *   onState: (plate: {id: string, state: number, canUndo: string, canRedo: string}) => void,
 *   onDocument: (document: PlateDocument, why: "undo"|"redo"|"theirs"|"refused"|"elsewhere") => void,
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
  /** @type {{state: number, document: PlateDocument}|null} */
  let theirs = null;

  const key = () => `pending:${id}:${tab}`;

  function setLink(/** @type {Link} */ now) {
    link = now;
    onLink(link, queue.length);
  }

  function keep() {
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
  }

  function took(/** @type {{state: number, can_undo: string, can_redo: string}} */ answer) {
    base = answer.state;
    canUndo = labelOf(answer.can_undo);
    canRedo = labelOf(answer.can_redo);
    tell();
  }

  const tell = () => onState({ id, state: base, canUndo: queue[queue.length - 1]?.label || canUndo, canRedo });

  async function pump() {
    if (busy || link === "conflict") return;
    busy = true;
    let wasAway = false;
    while (queue.length) {
      const entry = queue[0];
      if (link !== "away") setLink("saving");
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
        setLink("away");
        await back();
        wasAway = true;
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
    for (let pause = 500; ; pause = Math.min(pause * 1.5, 4000)) {
      await wait(pause);
      try {
        await api.ping();
        return;
      } catch (error) {
        if (!(error instanceof Away) && !(error instanceof Refused)) throw error;
      }
    }
  }

  async function stepped(/** @type {"undo"|"redo"} */ which) {
    if (busy && link !== "away") await idle();
    if (queue.length) {
      if (which === "redo" || queue.length === 0) return;
      // Not saved yet, so it can simply be taken out of the queue.
      const first = busy ? 1 : 0;
      if (queue.length <= first) return;
      queue.pop();
      keep();
      tell();
      onDocument(queue.length ? queue[queue.length - 1].document : kept, "undo");
      return;
    }
    if (which === "undo" ? !canUndo : !canRedo) return;
    try {
      setLink("saving");
      const answer = await api[which](id, base);
      kept = answer.document;
      took(answer);
      setLink("saved");
      onDocument(answer.document, which);
    } catch (error) {
      if (clash(error, kept)) return;
      if (error instanceof Away) {
        setLink("away");
      } else {
        setLink("saved");
        if (error instanceof Refused) onRefused(error);
      }
    }
  }

  async function idle() {
    while (busy && link !== "away" && link !== "conflict") await wait(10);
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
      queue.push({ document, label });
      if (queue.length > MOST_WAITING) queue.splice(1, queue.length - MOST_WAITING);
      canRedo = "";
      keep();
      tell();
      onLink(link === "saved" ? "saving" : link, queue.length);
      void pump();
    },
    undo: () => stepped("undo"),
    redo: () => stepped("redo"),
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
    /** Another window says that it has saved this plate. @param {number} state */
    async elsewhere(state) {
      if (state <= base || queue.length || busy || link === "conflict") return;
      try {
        const plate = await api.open(id);
        if (queue.length || busy || plate.state <= base) return;
        kept = plate.document;
        took(plate);
        onDocument(kept, "elsewhere");
      } catch {
        // It will come out at the next save.
      }
    },
    /** The server did not answer a question: says so, and when it is back. Edits that wait see to that themselves. */
    async wakeWhenBack() {
      if (queue.length || link !== "saved") return;
      setLink("away");
      await back();
      if (queue.length || busy) return;
      setLink("saved");
      onBack();
    },
    get waiting() {
      return queue.length;
    },
    get link() {
      return link;
    },
  };
}
