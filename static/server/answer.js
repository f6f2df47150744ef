/** Taking in what the server says of a document. Pure. */

/**
 * The look with a new answer worked in: parts that were not asked for stay as they were.
 * @param {any} before @param {any} answer @param {string[]} want
 */
export function takeLook(before, answer, want) {
  const look = { ...(before ?? {}), reasons: { ...(answer.missing ?? {}), ...(answer.reasons ?? {}) } };
  for (const part of want) look[part] = answer[part] ?? null;
  if (want.includes("findings")) look.counts = answer.counts ?? null;
  if (want.includes("snaps")) look.snaps = hardwareSnaps(answer.snaps);
  else look.snaps = before?.snaps ?? [];
  return look;
}

/** Kinds of place that only the server can work out; everything else is in the document itself. */
const HARDWARE = { "board-hole": "hole", slot: "slot", "fan-hole": "hole", "device-port": "drop" };

/** @param {any} snaps @returns {{point: [number, number], kind: string, label: string}[]} */
export function hardwareSnaps(snaps) {
  return (snaps?.places ?? snaps?.snaps ?? [])
    .filter((/** @type {any} */ s) => s.kind in HARDWARE)
    .map((/** @type {any} */ s) => ({
      point: [s.x_mm ?? s.x, s.y_mm ?? s.y],
      kind: HARDWARE[/** @type {keyof typeof HARDWARE} */ (s.kind)],
      label: s.label,
    }));
}
