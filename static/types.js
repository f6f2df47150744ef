/**
 * The shapes of data that the modules share, for type checking only: nothing here runs.
 *
 * @typedef {[number, number]} Point  A place on the floor in mm (x to the right, y to the rear), or on the screen in px.
 *
 * @typedef {Object<string, any>} Item  An item of the document: `id`, and what its kind has.
 *
 * @typedef {Object<string, any>} PlateDocument  A plate document, as `docs/format.md` describes it.
 *
 * @typedef {{rule: string, level: "error"|"warning"|"note", items: string[], value: number|null, limit: number|null,
 *   unit: string, at: Point|null, message: string, mend: string, line: [Point, Point]|null,
 *   fix: null|{label: string, changes: {pointer: string, value: number}[]}, accepted: string}} Finding
 *
 * @typedef {{id: string, state: number, canUndo: string, canRedo: string}} Plate  and what would be undone or done again
 *
 * @typedef {{drawing?: any, findings?: Finding[], counts?: any, flow?: any, seal?: any, survey?: any, snaps?: any[],
 *   reasons?: Object<string, string>}} Look
 *
 * @typedef {{point: Point, kind: string, label: string, guides: [Point, Point][]}} Snap
 */
export {};
