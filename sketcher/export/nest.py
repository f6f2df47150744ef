"""Several pieces on one sheet of material: in rows, the tallest first, turned by a quarter where that lies better."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sketcher.export.sheet import ExportError, Sheet

#: Between pieces, and from the sheet's edge, mm.
GAP_MM = 5.0
EDGE_MM = 5.0


@dataclass(frozen=True)
class Laid:
    """Where a piece lies: its number, whether it is turned, and its box's front left corner on the sheet, mm."""

    piece: int
    turned: bool
    x: float
    y: float


def nest(pieces: Sequence[Sheet], width: float, depth: float) -> Sheet:
    """One sheet with all pieces on it, its front left corner at the origin; each item's name says its piece.

    Args:
        pieces: sheets with the same kind of layers, such as test pieces of two revisions.
        width, depth: the material, mm.

    Raises:
        ExportError: they do not all fit.
    """
    pieces = [piece.without_hidden() for piece in pieces]
    sizes = []
    for piece in pieces:
        left, front, right, rear = piece.box()
        sizes.append((right - left, rear - front))
    entities = []
    for laid in lay(sizes, width, depth):
        piece = pieces[laid.piece]
        left, front, right, rear = piece.box()
        # Turned by a quarter, the box's rear left corner comes to its front left.
        dx, dy = (laid.x + rear, laid.y - left) if laid.turned else (laid.x - left, laid.y - front)
        for entity in piece.entities:
            item = f"{laid.piece + 1}/{entity.item}" if entity.item else f"{laid.piece + 1}"
            entities.append(replace(entity.placed(dx, dy, laid.turned), item=item))
    layers = list({layer.name: layer for piece in pieces for layer in piece.layers}.values())
    order = {"note": -1, "mark": 0, "pocket": 1, "inner": 2, "outer": 3}
    layers.sort(key=lambda layer: order[layer.role])
    ordered = [entity for layer in layers for entity in entities if entity.layer == layer.name]
    notes = list(dict.fromkeys(note for piece in pieces for note in piece.notes))
    notes.append(f"{len(pieces)} pieces on a sheet of {width:g} by {depth:g} mm")
    return Sheet(pieces[0].name, pieces[0].title, tuple(layers), tuple(ordered), tuple(notes))


def lay(sizes: Sequence[tuple[float, float]], width: float, depth: float) -> list[Laid]:
    """Places for boxes (width, depth) on a sheet, in the order of the boxes. Raises ``ExportError``."""
    ways = [[size[0] < size[1] for size in sizes], [False] * len(sizes), [True] * len(sizes)]
    tries = [_rows(sizes, turned, width - 2 * EDGE_MM, depth - 2 * EDGE_MM) for turned in ways]
    best = max(tries, key=len)
    if len(best) < len(sizes):
        w, d = max(sizes)
        raise ExportError(
            f"{len(best)} of {len(sizes)} pieces fit on a sheet of {width:g} by {depth:g} mm; the largest is"
            f" {w:.0f} by {d:.0f} mm: take a larger sheet, or fewer pieces"
        )
    return sorted(best, key=lambda laid: laid.piece)


def _rows(sizes: Sequence[tuple[float, float]], turned: list[bool], width: float, depth: float) -> list[Laid]:
    """Boxes set in rows from the front, as many as fit, each turned as asked for or, failing that, the other way.

    A box goes into the first row that has room for it; only then is a new row begun.
    """
    found: list[Laid] = []
    rows: list[list[float]] = []  # front, depth, and how far it is filled

    def room(w: float, d: float, new: bool) -> list[float] | None:
        if not new:
            return next((row for row in rows if d <= row[1] + 1e-9 and row[2] + w <= width + 1e-9), None)
        front = rows[-1][0] + rows[-1][1] + GAP_MM if rows else 0.0
        if front + d > depth + 1e-9 or w > width + 1e-9:
            return None
        rows.append([front, d, 0.0])
        return rows[-1]

    for number in sorted(range(len(sizes)), key=lambda n: -max(sizes[n])):
        for new, turn in ((False, turned[number]), (False, not turned[number]),
                          (True, turned[number]), (True, not turned[number])):  # fmt: skip
            w, d = sizes[number][::-1] if turn else sizes[number]
            row = room(w, d, new)
            if row is not None:
                found.append(Laid(number, turn, EDGE_MM + row[2], EDGE_MM + row[0]))
                row[2] += w + GAP_MM
                break
    return found
