"""Tables for people: CSV that no spreadsheet takes for a formula, and the parts to have at hand."""

from __future__ import annotations

import csv
import io
import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sketcher.document import Document
from sketcher.document.plate import Seal
from sketcher.geometry import Shapes
from sketcher.geometry.holes import HoleShape
from sketcher.geometry.levels import above_floor_mm, gasket_mm
from sketcher.reference import screws as screw_table
from sketcher.strength.notes import screw_rows
from sketcher.strength.seal import SealDesign, design_seal
from sketcher.strength.taps import WASHER_SHARE

#: A tube is cut this much longer than the way it goes, mm: what is too long can be cut again.
TUBE_SPARE_MM = 20.0
#: Cord and coolant are bought this much more than they fill, as a share. Common practice, no source.
CORD_SPARE, COOLANT_SPARE = 0.05, 0.10
#: Height of a nut as a share of the screw's diameter: ISO 4032, M4 3.2 and M5 4 to 4.7 (from memory).
NUT_SHARE = 0.8


@dataclass(frozen=True)
class PartRow:
    """A line of the parts list."""

    part: str
    count: str
    note: str


def table_csv(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table as CSV (RFC 4180). What a spreadsheet would take for a formula is kept from it by an apostrophe."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([[_plain(cell) for cell in row] for row in rows])
    return stream.getvalue()


#: What a spreadsheet takes for the beginning of a formula; the full-width forms (U+FF1D, FF0B, FF0D, FF20) too.
_FORMULA = frozenset("=@+-＝＠＋－")


def _plain(cell: str) -> str:
    """The cell with an apostrophe where it would begin a formula, behind spaces and unseen signs too."""
    begin = cell.lstrip("".join(sign for sign in set(cell) if sign.isspace() or not sign.isprintable()))
    guarded = (begin != "" and begin[0] in _FORMULA) or cell[:1] in ("\t", "\r", "\n")
    return f"'{cell}" if guarded and cell and not _is_number(cell) else cell


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def millimetres(value: float) -> str:
    """A length to the micrometre, without trailing zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def parts(document: Document, shapes: Shapes, volume_l: float | None = None) -> list[PartRow]:
    """What to have at hand: fittings, plugs, cord, screws, washers, spacers, tubes, coolant.

    Args:
        document: the plate.
        shapes: its shapes.
        volume_l: coolant in the whole loop, litres, when it is known.
    """
    found = [
        *_fittings(document, shapes),
        *_seal(document.seal, design_seal(document, shapes)),
        *_screws(document, shapes),
    ]
    found += _tubes(document, shapes)
    if volume_l is not None:
        litres = f"{volume_l * (1 + COOLANT_SPARE):.2f} l"
        found.append(PartRow("Coolant", litres, f"the loop holds {volume_l:.2f} l; a tenth more to bleed and top up"))
    return found


def _fittings(document: Document, shapes: Shapes) -> Iterator[PartRow]:
    loop = document.loop
    tube = f"tube {loop.tube_outer_diameter_mm:g}/{loop.tube_inner_diameter_mm:g} mm"
    uses = Counter((port.item.thread, port.item.use) for port in shapes.ports.values() if port.item.thread)
    words = {
        "fill": ("Plug {}", "fill port; with its O-ring"), "drain": ("Valve or plug {}", "drain; with its O-ring"),
        "bleed": ("Plug {}", "bleed port; with its O-ring"), "plugged": ("Plug {}", "with its O-ring"),
        "sensor": ("Sensor {}", "with its O-ring"),
    }  # fmt: skip
    served = {port.serves for port in document.ports if port.serves}
    ends = served | {end for tube_ in loop.tubes for end in (tube_.start, tube_.end)}
    threads = {f"{device.id}.{port.id}": port.thread for device in document.devices for port in device.ports}
    # Device ports whose thread is known take the same fitting as the plate's; of the others the makers know.
    outside = Counter(threads.get(end) or "" for end in ends)
    for thread in sorted({thread for thread, use in uses if use == "loop"} | {thread for thread in outside if thread}):
        here, there = uses.pop((thread, "loop"), 0), outside.pop(thread, 0)
        where = [*([f"{here} in the plate"] if here else []), *([f"{there} at the devices"] if there else [])]
        yield PartRow(f"Fitting {thread} for {tube}", str(here + there), f"{', '.join(where)}; each with its O-ring")
    for (thread, use), count in sorted(uses.items(), key=str):
        part, note = words[use]
        yield PartRow(part.format(thread), str(count), note)
    if outside[""]:
        yield PartRow(
            f"Fitting for {tube}", str(outside[""]), "at the devices, in their makers' thread; with its O-ring"
        )


def _seal(of: Seal, seal: SealDesign) -> Iterator[PartRow]:
    if seal.kind == "cord" and seal.gland is not None and seal.loops:
        length = seal.cord_length_mm
        pieces = ", ".join(f"{loop.cord_length_mm:.1f}" for loop in seal.loops)
        yield PartRow(
            f"Seal cord {seal.gland.cord_mm:g} mm, {of.cord_material}, {of.hardness_shore_a:g} Shore A",
            f"{length * (1 + CORD_SPARE) / 1000:.2f} m",
            f"cut square to {pieces} mm; {CORD_SPARE:.0%} spare is in the length",
        )  # fmt: skip
    elif seal.kind == "gasket":
        yield PartRow(f"Gasket sheet, {of.gasket}, {of.gasket_mm:g} mm thick", "1", "cut by the gasket's contour")
    elif seal.kind == "bonded":
        yield PartRow("Solvent cement for the plate's material", "1", "see its safety data sheet")


def _screws(document: Document, shapes: Shapes) -> Iterator[PartRow]:
    lid = screw_rows(document, shapes)
    yield from (PartRow(*row) for row in lid)
    rest = [
        hole
        for hole in shapes.holes.values()
        if not (hole.item.use == "lid" and hole.item.kind == "tapped" and hole.item.depth_mm and hole.screw)
    ]
    yield from _mounting(document, shapes, [hole for hole in rest if _mounts(hole)])
    counts = Counter(
        (hole.item.use, hole.item.screw, hole.item.kind, hole.item.depth_mm) for hole in rest if not _mounts(hole)
    )
    for (use, screw, kind, depth), count in sorted(counts.items(), key=str):
        note = f"{use}, {kind} hole"
        if kind == "tapped" and depth is not None:
            note += f", {depth:g} mm deep from its face: shorter than that under the head, with a washer"
        elif kind != "tapped":
            whole = shapes.thickness + gasket_mm(document)
            note += f", plate {whole:g} mm thick: length to suit what it goes into"
        yield PartRow(f"Screw {screw}", str(count), note)


def _mounts(hole: HoleShape) -> bool:
    return hole.item.use == "mount" and hole.item.kind != "tapped" and hole.screw is not None


def _mounting(document: Document, shapes: Shapes, holes: Sequence[HoleShape]) -> Iterator[PartRow]:
    """Screws from the plate through its spacers and the case floor, with washer and nut; alike ones together."""
    height, floor = document.plate.z_mm, document.floor.thickness_mm
    counts: Counter[tuple[str, str, float]] = Counter()
    for hole in holes:
        # A counterbored head sinks by its depth; a countersunk screw is measured with its head.
        sunk = hole.head.high - hole.head.low if hole.head is not None and hole.item.kind == "counterbored" else 0.0
        counts[hole.item.screw, hole.item.kind, round(shapes.thickness + gasket_mm(document) - sunk, 3)] += 1
    for (name, kind, grip), count in sorted(counts.items()):
        screw = screw_table.screw(name)
        washer = WASHER_SHARE * screw.major_mm if kind == "through" else 0.0
        # A nut to ISO 4032 is 0.8 d high; two turns stand out of it (common practice, no source).
        need = grip + washer + height + floor + NUT_SHARE * screw.major_mm + 2 * screw.pitch_mm
        length = min((stock for stock in screw.stock_lengths_mm if stock >= need), default=None)
        size = f"{length:g} mm" if length is not None else f"{need:.0f} mm or longer: no stock length is that long"
        norm = "ISO 10642" if kind == "countersunk" else "ISO 4762"
        way = f"{grip:g} plate, {washer:g} washer, {height:g} spacer, {floor:g} floor, then the nut"
        yield PartRow(
            f"Mounting screw {name} x {size}, {norm}", str(count), f"{way}; shorter into a thread in the floor"
        )
        if kind == "through":
            yield PartRow(f"Washer {name}, ISO 7089", str(count), "one under each mounting screw's head")
        yield PartRow(f"Nut {name}, ISO 4032, with washer", str(count), "below the case floor")
        if height > 0:
            bore = f"{screw.clearance_mm:g} mm bore"
            yield PartRow(f"Spacer {name}, {height:g} mm high", str(count), f"{bore}; under the plate at each screw")


def _tubes(document: Document, shapes: Shapes) -> Iterator[PartRow]:
    spare = f"{TUBE_SPARE_MM:.0f} mm spare"
    for id_, port in shapes.ports.items():
        if port.item.serves is not None:
            length = tube_length(document, shapes, id_)
            yield PartRow(
                f"Tube {id_} to {port.item.serves}", f"{length + TUBE_SPARE_MM:.0f} mm",
                f"{length:.0f} mm from the plate's face to the device's port; {spare}",
            )  # fmt: skip
    for tube in document.loop.tubes:
        a, b = shapes.device_ports[tube.start], shapes.device_ports[tube.end]
        length = tube.length_mm or math.dist((a.x, a.y, a.z), (b.x, b.y, b.z))
        note = "as typed" if tube.length_mm else f"straight from port to port; measure the way it bends; {spare}"
        count = length if tube.length_mm else length + TUBE_SPARE_MM
        yield PartRow(f"Tube {tube.id}, {tube.start} to {tube.end}", f"{count:.0f} mm", note)


def tube_length(document: Document, shapes: Shapes, port: str) -> float:
    """Straight length from a port's mouth to the device port it serves, mm: the drop's height when it is plumb."""
    shape = shapes.ports[port]
    assert shape.item.serves is not None
    target = shapes.device_ports[shape.item.serves]
    height = {"top": shapes.thickness, "bottom": 0.0, "edge": shape.rise}[shape.item.face]
    return math.dist((*shape.at, above_floor_mm(document, height)), (target.x, target.y, target.z))


def parts_csv(rows: Sequence[PartRow]) -> str:
    """The parts list as CSV."""
    return table_csv(("part", "count", "note"), [(row.part, row.count, row.note) for row in rows])
