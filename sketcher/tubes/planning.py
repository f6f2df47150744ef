"""Courses for a whole document, one tube after the other, and everything that is said of its tubes as plain data."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from sketcher.document import Document
from sketcher.document.tubes import Course
from sketcher.geometry import Shapes
from sketcher.tubes.bending import BendingSheet, bending_sheet, landing_error_mm
from sketcher.tubes.proposing import Proposal, propose
from sketcher.tubes.runs import Run, runs
from sketcher.tubes.stock import Cutting, cut
from sketcher.tubes.surroundings import bodies

#: Stock lengths of a tube whose size says none, mm. Common practice, no source.
USUAL_STOCK = (500.0, 1000.0)


def planned(
    document: Document, shapes: Shapes, only: Collection[str] | None = None, clearance_mm: float = 3.0
) -> tuple[Document, list[Proposal]]:
    """The document with proposed courses, and the proposals. Devices and ports stay where they are.

    Tubes are taken in the order of their ids, those that run straight first, each clear of those before it; tubes that
    are not asked for keep their courses and are kept clear of. Where there is no way the course stays as it was.

    Args:
        document: the plate.
        shapes: its shapes.
        only: ids of the tubes, or of the ports that they drop to; all when none.
        clearance_mm: between surfaces.
    """
    around = list(bodies(document, shapes))
    asked = [run for run in runs(document, shapes) if only is None or run.id in only]
    found: list[Proposal] = []
    changed = document
    for run in sorted(asked, key=lambda run: not _straight(run)):
        waiting = {other.id for other in asked} - {proposal.id for proposal in found}
        standing = [other for other in runs(changed, shapes) if other.id not in waiting]
        proposal = propose(document, run, around, standing, clearance_mm, shapes.floor_polygon.bounds)
        found.append(proposal)
        if not proposal.why:
            changed = _with_course(changed, run, proposal)
    return changed, sorted(found, key=lambda proposal: proposal.id)


def _straight(run: Run) -> bool:
    return run.start.axis is not None and float(run.start.axis @ run.line.first) > 0.9999


def _with_course(document: Document, run: Run, proposal: Proposal) -> Document:
    if run.kind == "tube":
        tubes = tuple(
            tube.model_copy(update={"points": proposal.points}) if tube.id == run.id else tube
            for tube in document.loop.tubes
        )
        return document.model_copy(update={"loop": document.loop.model_copy(update={"tubes": tubes})})
    ports = tuple(
        port.model_copy(update={"tube": (port.tube or Course()).model_copy(update={"points": proposal.points})})
        if port.id == run.id
        else port
        for port in document.ports
    )
    return document.model_copy(update={"ports": ports})


def tubes_json(document: Document, shapes: Shapes) -> dict[str, Any]:
    """Every tube: its course, how it is cut and bent; and what tube to buy, by size."""
    everyone = runs(document, shapes)
    sheets = {(run.kind, run.id): bending_sheet(run) for run in everyone}
    return {
        "tubes": [_run_json(run, sheets[run.kind, run.id]) for run in everyone],
        "stock": [
            {"size": size, "stock_mm": list(stock), **_cutting_json(cutting)}
            for size, (stock, cutting) in cuttings(everyone).items()
        ],
    }


def cuttings(everyone: list[Run]) -> dict[str, tuple[tuple[float, ...], Cutting]]:
    """By size of tube the stock lengths and the cutting of its pieces."""
    groups: dict[str, list[Run]] = {}
    for run in everyone:
        groups.setdefault(size_words(run), []).append(run)
    found = {}
    for size, members in sorted(groups.items()):
        first = members[0]
        stock = first.course.stock_mm or (first.size.stock_mm if first.size else USUAL_STOCK)
        found[size] = (tuple(stock), cut([(run.id, run.cut_length_mm) for run in members], stock))
    return found


def size_words(run: Run) -> str:
    """The size of a tube in words: that of the table, or its diameters."""
    if run.size is not None and (run.size.outer_mm, run.size.inner_mm) == (run.outer_mm, run.inner_mm):
        return run.size.name
    return f"{run.material.name + ' ' if run.material else ''}{run.outer_mm:g}/{run.inner_mm:g}"


def _run_json(run: Run, sheet: BendingSheet) -> dict[str, Any]:
    rigid = run.material is None or run.material.rigid
    return {
        "id": run.id,
        "kind": run.kind,
        "size": size_words(run),
        "rigid": rigid,
        "ends": [run.start.ref, run.end.ref],
        "drawn": run.drawn,
        "corners": [[round(float(v), 4) for v in corner] for corner in run.line.corners],
        "line": [[round(float(v), 3) for v in point] for point in run.line.points()],
        "length_mm": round(run.line.length, 4),
        "cut_length_mm": round(sheet.cut_length_mm, 4),
        "bends": [
            {
                "number": row.number,
                "mark_mm": round(row.mark_mm, 4),
                "angle_deg": round(row.angle_deg, 4),
                "turn_deg": round(row.turn_deg, 4),
                "radius_mm": round(row.radius_mm, 4),
                "arc_mm": round(row.arc_mm, 4),
                "straight_mm": round(row.straight_mm, 4),
            }
            for row in sheet.rows
        ],
        "last_straight_mm": round(sheet.last_straight_mm, 4),
        "insertion_mm": [sheet.start_insertion_mm, sheet.end_insertion_mm],
        "misses_mm": round(landing_error_mm(run), 6),
    }


def _cutting_json(cutting: Cutting) -> dict[str, Any]:
    return {
        "lengths": [{"length_mm": size, "pieces": list(pieces)} for size, pieces in cutting.lengths],
        "bought_mm": cutting.bought_mm,
        "offcut_mm": round(cutting.offcut_mm, 3),
        "bound_mm": cutting.bound_mm,
        "exact": cutting.exact,
        "too_long": list(cutting.too_long),
    }
