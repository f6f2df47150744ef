"""Bending sheets: each rigid tube at true size where it fits the paper, with its marks; figures and stock for all.

A tube whose bends lie in one plane is drawn bent, true size, to lay it on. One that turns out of its plane cannot be:
it is drawn as the straight tube that it is cut from, with a mark where each bend begins and ends, and its figures.
"""

from __future__ import annotations

import math

import numpy as np

from sketcher.document import Document
from sketcher.export.registry import sheet
from sketcher.export.sheet import Draft, ExportError, Layer, Sheet
from sketcher.geometry import Shapes
from sketcher.geometry.path import Path, Point, fillet
from sketcher.tubes.bending import BendingSheet, bending_sheet
from sketcher.tubes.planning import cuttings, size_words
from sketcher.tubes.runs import Run, runs

TUBE, CENTRE, MARKS, TEXT = "TUBE", "CENTRELINE", "BEND_MARKS", "FIGURES"
LAYERS = (
    Layer(TUBE, "mark", "Sides of the tube", colour=7),
    Layer(CENTRE, "mark", "Its centreline", colour=1),
    Layer(MARKS, "mark", "Where each bend begins and ends", colour=5),
    Layer(TEXT, "mark", "Figures", colour=3),
)
#: Between two tubes on the sheet, and height of the letters, mm.
_APART, _LETTER = 12.0, 3.0
#: A tube turned out of its plane by less than this lies in it, degrees.
_FLAT_DEG = 0.05


@sheet(
    "tubes",
    title="Bending sheets",
    about="Every rigid tube with its cut length, the marks of its bends, angles and turns, and the tube to buy.",
    cautions=("heat",),
    paper="A4",
    packs=("builder",),
)
def tubes_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
    """Every rigid tube of the document, one above the other, and a table for all."""
    everyone = [run for run in runs(document, shapes) if run.material is None or run.material.rigid]
    if not everyone:
        raise ExportError("there is no rigid tube; let ports serve device ports, or add tubes between devices")
    draft, top = Draft(), 0.0
    for run in everyone:
        top = _one(draft, run, bending_sheet(run), top) - _APART
    _table(draft, everyone, top)
    notes = (
        "Lengths are along the centreline. A mark is where a bend begins; the bend ends at the second mark.",
        "Turn: turn the tube about itself by so much before the bend, clockwise as seen from the end marked 0.",
        "Bend a trial piece first.",
    )
    title = f"Bending sheets {label}".strip()
    return draft.sheet("tubes", title, LAYERS, notes)


def flat_path(figures: BendingSheet) -> Path | None:
    """The bent tube's centreline in its plane from the cut end at 0 along x; none when it does not lie in a plane."""
    if any(min(abs(row.turn_deg), 180 - abs(row.turn_deg)) > _FLAT_DEG for row in figures.rows[1:]):
        return None
    at, heading, sign = np.zeros(2), 0.0, 1.0
    corners: list[Point] = [(0.0, 0.0)]
    radii = [0.0]
    behind = 0.0
    for number, row in enumerate(figures.rows):
        if number and abs(row.turn_deg) > 90:
            sign = -sign
        setback = row.radius_mm * math.tan(math.radians(row.angle_deg) / 2)
        at = at + (behind + row.straight_mm + setback) * np.array([math.cos(heading), math.sin(heading)])
        corners.append((float(at[0]), float(at[1])))
        radii.append(row.radius_mm)
        heading += sign * math.radians(row.angle_deg)
        behind = setback
    at = at + (behind + figures.last_straight_mm) * np.array([math.cos(heading), math.sin(heading)])
    corners.append((float(at[0]), float(at[1])))
    path, _ = fillet(corners, [*radii, 0.0])
    return path


def _one(draft: Draft, run: Run, figures: BendingSheet, top: float) -> float:
    """One tube below ``top``; the new lower end."""
    flat = flat_path(figures) if figures.rows else None
    lines = [
        f"{run.id}: {run.start.ref} to {run.end.ref}, {size_words(run)}, cut {figures.cut_length_mm:.1f} mm, "
        f"enters {figures.start_insertion_mm:g} and {figures.end_insertion_mm:g}",
        *(
            f"bend {row.number}: mark {row.mark_mm:.1f}, angle {row.angle_deg:.1f}, turn {row.turn_deg:+.1f}, "
            f"radius {row.radius_mm:.1f}, straight before {row.straight_mm:.1f}"
            for row in figures.rows
        ),
        *([f"straight after {figures.last_straight_mm:.1f}"] if figures.rows else []),
    ]
    for line in lines:
        top -= _LETTER * 1.8
        draft.text(TEXT, (0.0, top), line, _LETTER, item=run.id)
    top -= _LETTER
    half = run.outer_mm / 2
    if flat is None:
        base = top - half
        length = figures.cut_length_mm
        draft.line(TUBE, (0.0, base + half), (length, base + half), (length, base - half), (0.0, base - half),
                   (0.0, base + half), item=run.id)  # fmt: skip
        for row in figures.rows:
            for at in (row.mark_mm, row.mark_mm + row.arc_mm):
                draft.line(MARKS, (at, base - half - 2), (at, base + half + 2), item=run.id)
        return base - half - 2
    points = np.array(flat.points(0.05))
    shift = np.array([-points[:, 0].min() + half, top - points[:, 1].max() - half])
    placed = _moved(flat, shift)
    draft.path(CENTRE, placed, item=run.id)
    for side in (half, -half):
        beside = _beside(placed, side)
        if beside is not None:
            draft.path(TUBE, beside, item=run.id)
    for row in figures.rows:
        for at in (row.mark_mm, row.mark_mm + row.arc_mm):
            _mark(draft, placed, at, half + 2, run.id)
    return float(points[:, 1].min() + shift[1] - half - 2)


def _moved(path: Path, shift: np.ndarray) -> Path:
    dx, dy = float(shift[0]), float(shift[1])
    return Path(
        tuple(
            type(s)((s.start[0] + dx, s.start[1] + dy), (s.end[0] + dx, s.end[1] + dy), s.bulge) for s in path.segments
        )
    )


def _beside(path: Path, side: float) -> Path | None:
    """The path moved to one side: straights by the normal, arcs with their radius changed; none where an arc is too
    tight for that."""
    moved = []
    for s in path.segments:
        if not s.straight and s.radius <= abs(side) + 1e-6:
            return None
        ends = []
        for place, heading in ((s.start, s.direction()), (s.end, s.direction(at_end=True))):
            ends.append((place[0] - side * math.sin(heading), place[1] + side * math.cos(heading)))
        moved.append(type(s)(ends[0], ends[1], s.bulge))
    return Path(tuple(moved))


def _mark(draft: Draft, path: Path, at: float, arm: float, item: str) -> None:
    x, y = path.at(at)
    before, after = path.at(max(at - 0.01, 0.0)), path.at(at + 0.01)
    heading = math.atan2(after[1] - before[1], after[0] - before[0])
    dx, dy = -arm * math.sin(heading), arm * math.cos(heading)
    draft.line(MARKS, (x - dx, y - dy), (x + dx, y + dy), item=item)


def _table(draft: Draft, everyone: list[Run], top: float) -> None:
    for size, (_, cutting) in cuttings(everyone).items():
        rows = [f"{size}: buy {cutting.bought_mm:.0f} mm, {cutting.offcut_mm:.0f} left over"]
        rows += [f"  {length:g}: {', '.join(pieces)}" for length, pieces in cutting.lengths]
        if cutting.too_long:
            rows.append(f"  longer than any stock length: {', '.join(cutting.too_long)}")
        for row in rows:
            top -= _LETTER * 1.8
            draft.text(TEXT, (0.0, top), row, _LETTER)
