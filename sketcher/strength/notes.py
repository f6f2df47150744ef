"""What drawing, parts list and README say of lid screws and pressure test: sentences and rows, made in one place."""

from __future__ import annotations

from collections import Counter

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.levels import gasket_mm
from sketcher.reference import screws as screw_table
from sketcher.strength.annealing import annealing_text
from sketcher.strength.lid import lid_report
from sketcher.strength.over_sheet import second_washer_below_mm
from sketcher.strength.pressure_test import pressure_test
from sketcher.strength.taps import gaskets_mm, stock_length_mm, tap_of, taps
from sketcher.strength.tightening import Torque, torque_of


def torque_for(document: Document, shapes: Shapes) -> Torque | None:
    """The torque of the lid's screws."""
    return torque_of(document, lid_report(document, shapes))


def sentences(document: Document, shapes: Shapes) -> list[str]:
    """Notes for the drawing: gasket, blind holes, torque, test pressure."""
    found = []
    if document.seal.kind == "gasket":
        found.append(gasket_text(document))
    for text, ids in _taps(document).items():
        found.append(f"{len(ids)} lid screw holes: {text}; depths from the body's face under the lid.")
    torque = torque_for(document, shapes)
    if torque is not None:
        found.append(torque.text())
    found.append(pressure_test(document).text())
    if document.plate.annealed and "acrylic" in document.plate.material:
        found.append(f"Anneal {annealing_text(document.plate.body_thickness_mm)}")
    return found


def gasket_text(document: Document) -> str:
    """What the gasket adds to heights that are drawn without it."""
    low, high = gaskets_mm(document)
    return (
        f"Gasket sheet {gasket_mm(document):g} mm thick between body and lid; sections and overall heights are without "
        f"it. Assembled, the plate is {low:.2g} to {high:.2g} mm higher. The screws' length counts it."
    )


def _taps(document: Document) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for id_, tap in taps(document).items():
        found.setdefault(tap.text(), []).append(id_)
    return found


def screw_length_mm(document: Document, screw: str, depth_mm: float) -> float | None:
    """The longest stock length under the head that does not reach the end of the full thread, mm; none fits: None."""
    size = screw_table.screw(screw)
    return stock_length_mm(document, size, tap_of(document, depth_mm, size).thread_mm)


def screw_rows(document: Document, shapes: Shapes) -> list[tuple[str, str, str]]:
    """Lid screws and washers for the parts list: part, count, note."""
    counts = Counter(
        (hole.screw, hole.depth_mm)
        for hole in document.holes
        if hole.use == "lid" and hole.kind == "tapped" and hole.depth_mm is not None
    )
    torque = torque_for(document, shapes)
    note = "" if torque is None else torque.text()
    rows: list[tuple[str, str, str]] = []
    for (screw, depth), count in sorted(counts.items()):
        if screw not in screw_table.names():
            continue
        length = screw_length_mm(document, screw, depth)
        size = "no stock length fits" if length is None else f"{length:g} mm"
        rows.append((f"Lid screw {screw} x {size}, ISO 4762, stainless", str(count), note))
        under = second_washer_below_mm(document) if screw == document.seal.screw else None
        second = "" if under is None else f"; a second one where the lid is thinner than {under:.1f} mm"
        washers = count if under is None else 2 * count
        rows.append((f"Washer {screw}, ISO 7089", str(washers), f"one under each lid screw{second}"))
    return rows
