/** Hardware follows the survey: after a reading has changed, what is tied to points is moved as these have moved. */

/**
 * @param {{store: import("../types.js").Store, api: import("../types.js").Api, actions: import("../types.js").Actions}} parts
 *
 * Only an edit made here is followed, never an undo: undoing the move and then the reading leads back step by step.
 */
export function createFollowing({ store, api, actions }) {
  let asked = false;

  async function follow() {
    const { document } = store.get();
    if (asked || !document.ties?.length || !(document.survey?.readings ?? []).length) return;
    asked = true;
    try {
      const { document: moved, moves } = await api.post("/api/survey/follow", { document });
      const now = store.get();
      // Something else has changed meanwhile: the question is asked again for what stands now.
      if (now.document !== document || now.draft) {
        if (now.document.survey === document.survey) queueMicrotask(follow);
        return;
      }
      const names = moves.map((/** @type {{item: string}} */ move) => move.item).join(", ");
      if (moves.length) {
        actions.commit(moved, `Move ${names} with the survey`);
        actions.say(`${names} moved with the survey's points. Undo brings ${moves.length > 1 ? "them" : "it"} back.`);
      } else if (JSON.stringify(moved.ties) !== JSON.stringify(document.ties)) {
        actions.commit(moved, "Note where the points of ties are");
      }
    } catch {
      // The finding "tie-moved" says it as well, with a button.
    } finally {
      asked = false;
    }
  }

  store.watch(["surveyEdits"], () => void follow());
}
