/**
 * Saving as it happens, so that nothing is lost: every finished edit waits in a queue (`pending.js`) and goes to the
 * server one by one. When the server is away the queue waits; when the plate has been changed elsewhere meanwhile, the
 * user is asked, and neither side is overwritten before.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").StoredPlate} StoredPlate
 * @typedef {import("./pending.js").Entry} Entry
 * @typedef {"saved"|"saving"|"away"|"stuck"|"conflict"} Link  away: no server; stuck: it is there and cannot keep anything
 * @typedef {"undo"|"redo"|number} Step  a number: to that step of the history
 * @typedef {{state: number, document: PlateDocument}} Theirs  what another window has made of the plate
 */

import { Away, Refused } from "./api.js";
import { Pending } from "./pending.js";

/** More undos than this are not remembered while one is under way: a key that is held must stop when it is let go. */
const MOST_STEPS = 4;

/** What to do when the browser cannot hold what the server does not take. */
const KEEP_OPEN = "The browser's storage is full: keep this window open";

/** An edit waits so long at most for what belongs to it, ms; then it goes as it is. */
const LONGEST_HOLD = 5000;

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

/** What another window has made of the plate, where that is what the server's no is about. @param {unknown} error @returns {Theirs|null} */
function theirsIn(error) {
  if (!(error instanceof Refused) || error.status !== 409) return null;
  const { state, document } = error.body ?? {};
  return state === undefined || !document ? null : { state, document };
}

/**
 * @typedef {object} Parts
 * @property {Pick<typeof import("./api.js").api, "save"|"undo"|"redo"|"goTo"|"open"|"create"|"ping">} api
 * @property {import("./pending.js").Kept} storage
 * @property {string} tab
 * @property {(ms: number) => Promise<void>} wait
 * @property {(link: Link, waiting: number, why: string) => void} onLink
 * @property {(plate: {id: string, state: number, canUndo: string, canRedo: string}) => void} onState
 * @property {(document: PlateDocument, why: "undo"|"redo"|"step"|"theirs"|"refused"|"elsewhere") => void} onDocument
 * @property {(theirs: Theirs, mine: PlateDocument) => void} onConflict
 * @property {(error: Refused) => void} onRefused
 * @property {() => void} [onBack]
 */

/** @param {Parts} parts */
export const createSync = (parts) => new Sync(parts);

class Sync {
  /** @type {Link} */
  link = "saved";
  /** Why nothing is kept, while the link is stuck. */
  #why = "";
  /** @type {Parts} */
  #parts;
  #id = "";
  /** The server's state that the next edit is based on. */
  #base = 0;
  /** What the server has. @type {PlateDocument} */
  #kept = /** @type {any} */ (null); // any: nothing is asked of it before a plate is open
  #pending;
  #canUndo = "";
  #canRedo = "";
  /** Counts the plates that were opened: an answer about an earlier one is not taken for this one's. */
  #run = 0;
  /** Whether an edit is on its way. */
  #busy = false;
  /** @type {Promise<unknown>} */
  #flight = Promise.resolve();
  /** Undo and redo go one after the other. @type {Promise<unknown>} */
  #stepping = Promise.resolve();
  #steps = 0;
  #edits = 0;
  /** @type {Theirs|null} */
  #theirs = null;
  /** What an edit waits for before it is sent. @type {WeakMap<PlateDocument, Promise<unknown>>} */
  #holds = new WeakMap();
  /** The edit that is on its way. @type {PlateDocument|null} */
  #sent = null;

  /** @param {Parts} parts */
  constructor(parts) {
    this.#parts = parts;
    this.#pending = new Pending(parts.storage, "", parts.tab);
  }

  get waiting() {
    return this.#pending.count;
  }

  /** Edits that are on their way, also of plates that were left: over when the server has answered. */
  get flight() {
    return this.#flight;
  }

  /**
   * Takes up a plate as the server has it, and whatever this browser still holds of it unsaved.
   * @param {StoredPlate} plate
   * @param {string[]} [orphans] keys of storage that tabs since closed have left
   * @returns {PlateDocument} what to show
   */
  open(plate, orphans = []) {
    if (plate.id !== this.#id) {
      this.#run += 1;
      this.#busy = false;
    }
    this.#id = plate.id;
    this.#kept = plate.document;
    this.#pending = new Pending(this.#parts.storage, plate.id, this.#parts.tab);
    this.#theirs = null;
    this.link = "saved";
    this.#took(plate);
    const left = this.#pending.left(orphans);
    if (!left) {
      this.#setLink("saved");
      return this.#kept;
    }
    const mine = left.queue[left.queue.length - 1].document;
    this.#pending.set(left.queue, left.base);
    if (left.base === plate.state) void this.#pump();
    else {
      // It stays based on what it was made from, so that a reload asks again.
      this.#base = left.base;
      this.#ask({ state: plate.state, document: plate.document }, mine);
    }
    return mine;
  }

  /** A finished edit. @param {PlateDocument} document @param {string} label */
  save(document, label) {
    this.#edits += 1;
    this.#canRedo = "";
    this.#pending.add({ document, label }, this.#base);
    this.#tell();
    this.#report(this.link === "saved" ? "saving" : this.link);
    void this.#pump();
  }

  /** An edit that is sent only when something that belongs to it is known. To be said before it is saved. @param {PlateDocument} document @param {Promise<unknown>} until */
  hold(document, until) {
    this.#holds.set(document, until);
  }

  /** An edit that still waits becomes another one, so that both are one step. @param {PlateDocument} before @param {PlateDocument} after @returns {boolean} whether it did wait */
  amend(before, after) {
    const { entries } = this.#pending;
    const at = entries.findIndex(({ document }) => document === before);
    if (at < 0 || before === this.#sent) return false;
    this.#pending.set(entries.with(at, { ...entries[at], document: after }), this.#base);
    return true;
  }

  undo() {
    return this.#step("undo");
  }

  redo() {
    return this.#step("redo");
  }

  /** To a step of the history, however far. @param {number} number */
  goTo(number) {
    return this.#step(number);
  }

  /** The user's answer to a conflict. @param {"mine"|"theirs"|"copy"} choice @returns {Promise<string|null>} the id of the copy, for "copy" */
  async resolve(choice) {
    const theirs = this.#theirs;
    if (!theirs) return null;
    const { document: mine, label } = this.#pending.last ?? { document: this.#kept, label: "Kept" };
    if (choice === "copy") {
      const name = `${mine.name || "Plate"} (copy)`.slice(0, 120);
      const made = await this.#parts.api.create({ document: { ...mine, name } });
      this.#takeTheirs(theirs);
      return made.id;
    }
    if (choice === "theirs") {
      this.#canUndo = "Kept";
      this.#takeTheirs(theirs);
      return null;
    }
    this.#settle(theirs, [{ document: mine, label }]);
    this.#setLink("saving");
    await this.#pump();
    return null;
  }

  /** Another window has saved this plate, or may have: looks, and takes it. @param {number} [state] what it is said to be at */
  async elsewhere(state = Infinity) {
    if (state <= this.#base || !this.#id || !this.#quiet()) return;
    const run = this.#run;
    try {
      const plate = await this.#parts.api.open(this.#id);
      if (run !== this.#run || !this.#quiet() || plate.state <= this.#base || !plate.document) return;
      this.#kept = plate.document;
      this.#took(plate);
      this.#parts.onDocument(this.#kept, "elsewhere");
    } catch {
      // It will come out at the next save.
    }
  }

  /** The server did not answer a question: says so, and when it is back. Edits that wait see to that themselves. */
  async wakeWhenBack() {
    if (this.#pending.count || this.link !== "saved") return;
    this.#setLink("away");
    await this.#back();
    if (this.#pending.count || this.#busy) return;
    this.#setLink("saved");
    this.#parts.onBack?.();
  }

  // What is said to the page.

  /** @param {Link} now */
  #setLink(now, words = "") {
    this.link = now;
    this.#why = words;
    this.#report();
  }

  #report(now = this.link) {
    const why = this.#pending.held ? this.#why : [this.#why, KEEP_OPEN].filter(Boolean).join(". ");
    this.#parts.onLink(now, this.#pending.count, why);
  }

  #tell() {
    const canUndo = this.#pending.last?.label || this.#canUndo;
    this.#parts.onState({ id: this.#id, state: this.#base, canUndo, canRedo: this.#canRedo });
  }

  /** @param {Omit<StoredPlate, "document"|"id">} answer */
  #took(answer) {
    this.#base = answer.state;
    this.#canUndo = labelOf(answer.can_undo);
    this.#canRedo = labelOf(answer.can_redo);
    this.#tell();
  }

  /** Whether nothing is under way. */
  #quiet() {
    return !this.#pending.count && !this.#busy && !this.#steps && this.link === "saved";
  }

  // Edits on their way.

  /** Sends what waits, one after the other, until nothing waits or the server will not have it. */
  async #pump() {
    if (this.#busy || this.#steps || this.link === "conflict") return;
    this.#busy = true;
    const run = this.#run;
    let missed = false;
    let pause = FIRST_PAUSE;
    while (this.#pending.count) {
      if (await this.#held(this.#pending.entries[0].document, run)) continue;
      if (run !== this.#run) return;
      const sent = this.#send(this.#pending);
      this.#flight = Promise.allSettled([this.#flight, sent]);
      const came = await sent;
      if (run !== this.#run) return;
      if (came === "conflict") {
        this.#busy = false;
        return;
      }
      if (came === "refused") break;
      if (came === "saved") continue;
      missed = true;
      if (came === "away") await this.#back();
      else {
        await this.#parts.wait(pause);
        pause = longer(pause);
      }
      if (run !== this.#run) return;
    }
    if (missed && !this.#pending.count) this.#parts.onBack?.();
    this.#busy = false;
    if (!this.#pending.count && !this.#theirs) this.#setLink("saved");
  }

  /** Waits for what belongs to an edit; false at once when there is nothing to wait for. @param {PlateDocument} document @param {number} run */
  async #held(document, run) {
    const until = this.#holds.get(document);
    if (!until) return false;
    this.#setLink(this.link === "saved" ? "saving" : this.link);
    await Promise.race([until, this.#parts.wait(LONGEST_HOLD)]);
    this.#holds.delete(document);
    return run === this.#run;
  }

  /** Sends the first edit that waits. @param {Pending} pending @returns {Promise<"saved"|"conflict"|"refused"|"away"|"stuck">} */
  async #send(pending) {
    const [entry] = pending.entries;
    const run = this.#run;
    if (this.link !== "away" && this.link !== "stuck") this.#setLink("saving");
    try {
      this.#sent = entry.document;
      const answer = await this.#parts.api.save(this.#id, this.#base, entry.document, entry.label);
      // Of a plate that was left meanwhile, too: it must not be sent twice.
      const queue = run === this.#run ? this.#pending : pending;
      queue.set(queue.entries.slice(1), answer.state);
      if (run !== this.#run) return "saved";
      this.#kept = entry.document;
      this.#took(answer);
      this.#setLink(queue.count ? "saving" : "saved");
      return "saved";
    } catch (error) {
      return run === this.#run ? this.#notSent(error) : "away";
    } finally {
      if (run === this.#run) this.#sent = null;
    }
  }

  /** An edit that the server did not take. @param {unknown} error */
  #notSent(error) {
    const theirs = theirsIn(error);
    if (theirs) {
      this.#ask(theirs, this.#pending.last?.document ?? this.#kept);
      return "conflict";
    }
    if (!(error instanceof Refused)) {
      this.#setLink("away");
      return "away";
    }
    if (error.status >= 500) {
      // It answers, and cannot keep anything: a full disk, a file that another program holds.
      this.#setLink("stuck", remedy(error));
      return "stuck";
    }
    // What came after was built on it: all of it goes back to what the server has.
    this.#pending.set([], this.#base);
    this.#setLink("saved");
    this.#tell();
    this.#parts.onDocument(this.#kept, "refused");
    this.#parts.onRefused(error);
    return "refused";
  }

  /** Waits until the server answers again. */
  async #back() {
    for (let pause = FIRST_PAUSE; ; pause = longer(pause)) {
      await this.#parts.wait(pause);
      try {
        await this.#parts.api.ping();
        return;
      } catch (error) {
        if (!(error instanceof Away) && !(error instanceof Refused)) throw error;
      }
    }
  }

  // Two windows.

  /** The plate was changed elsewhere meanwhile: the user is asked. @param {Theirs} theirs @param {PlateDocument} mine */
  #ask(theirs, mine) {
    this.#theirs = theirs;
    this.#setLink("conflict");
    this.#parts.onConflict(theirs, mine);
  }

  /** A conflict is over: what waits is made from what the server has. @param {Theirs} theirs @param {Entry[]} entries */
  #settle(theirs, entries) {
    this.#theirs = null;
    this.#base = theirs.state;
    this.#kept = theirs.document;
    this.#pending.set(entries, this.#base);
  }

  /** @param {Theirs} theirs */
  #takeTheirs(theirs) {
    this.#settle(theirs, []);
    this.#tell();
    this.#setLink("saved");
    this.#parts.onDocument(this.#kept, "theirs");
  }

  // Undo and redo.

  /** One step after the other: a second one that started from the same state would be a conflict with oneself. @param {Step} which */
  #step(which) {
    if (this.#steps >= MOST_STEPS) return this.#stepping;
    this.#steps += 1;
    const [asked, run] = [this.#edits, this.#run];
    const go = () => (run === this.#run ? this.#stepped(which, asked) : Promise.resolve());
    this.#stepping = (this.#steps === 1 ? go() : this.#stepping.then(go)).finally(() => {
      this.#steps -= 1;
      // Edits made meanwhile have waited.
      if (!this.#steps && this.#pending.count) void this.#pump();
    });
    return this.#stepping;
  }

  /** @param {Step} which @param {number} asked how many edits there were when it was asked for */
  async #stepped(which, asked) {
    if (this.#busy && this.link !== "away" && this.link !== "stuck") await this.#idle();
    if (this.link === "conflict") return;
    if (this.#pending.count) {
      // An edit that came after it stays.
      if (which === "undo" && this.#edits <= asked) this.#unqueue();
      return;
    }
    if (which === "undo" ? !this.#canUndo : which === "redo" && !this.#canRedo) return;
    const run = this.#run;
    try {
      this.#setLink("saving");
      const answer = await this.#asked(which);
      if (run !== this.#run) return;
      this.#kept = answer.document;
      this.#took(answer);
      this.#setLink(this.#pending.count ? "saving" : "saved");
      // What was edited meanwhile is newer, and is saved on top.
      if (!this.#pending.count) this.#parts.onDocument(answer.document, typeof which === "number" ? "step" : which);
    } catch (error) {
      if (run === this.#run) this.#missed(error);
    }
  }

  /** @param {Step} which */
  #asked(which) {
    const { api } = this.#parts;
    return typeof which === "number" ? api.goTo(this.#id, this.#base, which) : api[which](this.#id, this.#base);
  }

  /** An edit that is not on its way yet is simply taken out of the queue. */
  #unqueue() {
    const { entries } = this.#pending;
    if (entries.length <= (this.#busy ? 1 : 0)) return;
    this.#pending.set(entries.slice(0, -1), this.#base);
    this.#tell();
    this.#parts.onDocument(this.#pending.last?.document ?? this.#kept, "undo");
  }

  /** An undo that did not come about. @param {unknown} error */
  #missed(error) {
    this.#setLink("saved");
    if (error instanceof Away) return void this.wakeWhenBack();
    const theirs = theirsIn(error);
    if (error instanceof Refused && theirs && !this.#pending.count) {
      // Nothing of one's own is at stake: the other window's state is shown, and that can be undone.
      this.#kept = theirs.document;
      this.#took({ can_undo: "", can_redo: "", ...error.body, ...theirs });
      return this.#parts.onDocument(this.#kept, "elsewhere");
    }
    if (error instanceof Refused) this.#parts.onRefused(error);
  }

  async #idle() {
    const run = this.#run;
    const sending = () => this.#busy && this.link !== "away" && this.link !== "stuck" && this.link !== "conflict";
    while (run === this.#run && sending()) await this.#parts.wait(10);
  }
}
