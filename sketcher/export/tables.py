"""Tables for people: the holes, and the parts to have at hand."""

from __future__ import annotations

import csv
import io
import math
from collections import Counter
from dataclasses import dataclass

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.shapes import PortShape
from sketcher.strength.seal import design_seal

HOLE_COLUMNS = ("id", "what", "x_mm", "y_mm", "diameter_mm", "depth_mm", "thread", "face", "name")
#: A tube is cut this much longer than the way it goes, mm: what is too long can be cut again.
TUBE_SPARE_MM = 20.0
#: Cord is bought this much longer than its grooves, as a share.
CORD_SPARE = 0.05


@dataclass(frozen=True)
class HoleRow:
    """A hole, from the datum: the plate's front left corner, x to the right, y to the rear, mm."""

    id: str
    what: str
    x: float
    y: float
    diameter: float
    depth: float | None
    thread: str
    face: str
    name: str


@dataclass(frozen=True)
class Part:
    """A line of the parts list."""

    part: str
    count: str
    note: str


def datum(shapes: Shapes) -> tuple[float, float]:
    """The hole table's origin on the floor, mm: the front left corner of the box around the plate."""
    left, front, _, _ = shapes.plate_polygon.bounds
    return float(left), float(front)


def holes(document: Document, shapes: Shapes) -> list[HoleRow]:
    """Every port and screw hole, from the datum."""
    ox, oy = datum(shapes)
    rows = []
    for id_, port in shapes.ports.items():
        item = port.item
        rows.append(
            HoleRow(id_, "edge port" if port.heading else "port", item.x_mm - ox, item.y_mm - oy, port.bore_diameter,
                    port_depth(port, shapes), item.thread or "", item.face, item.name)
        )  # fmt: skip
    for id_, hole in shapes.holes.items():
        screw = hole.item
        thread = screw.screw if screw.kind == "tapped" else ""
        what = "lid screw" if screw.use == "lid" else f"{screw.kind} hole"
        rows.append(
            HoleRow(id_, what, screw.x_mm - ox, screw.y_mm - oy, hole.diameter, screw.depth_mm, thread, screw.face,
                    screw.name)
        )  # fmt: skip
    return rows


def port_depth(port: PortShape, shapes: Shapes) -> float:
    """Depth of a port's bore from its face, mm."""
    if port.heading is not None:
        return math.dist(port.at, port.root)
    return shapes.thickness - port.rise if port.item.face == "top" else port.rise


def holes_csv(document: Document, shapes: Shapes) -> str:
    """The hole table as CSV (RFC 4180), numbers to the micrometre."""
    rows: list[tuple[str, ...]] = []
    for row in holes(document, shapes):
        depth = "through" if row.depth is None else _mm(row.depth)
        places = (_mm(row.x), _mm(row.y), _mm(row.diameter), depth)
        rows.append((row.id, row.what, *places, row.thread, row.face, row.name))
    return table_csv(HOLE_COLUMNS, rows)


def table_csv(columns: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    """A table as CSV. What a spreadsheet would take for a formula is kept from it by an apostrophe."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([[_plain(cell) for cell in row] for row in rows])
    return stream.getvalue()


def _plain(cell: str) -> str:
    return f"'{cell}" if cell[:1] in "=@+\t" or (cell[:1] == "-" and not _is_number(cell)) else cell


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _mm(value: float) -> str:
    return f"{round(value, 3) + 0.0:.3f}".rstrip("0").rstrip(".")


def parts(document: Document, shapes: Shapes, volume_l: float | None = None) -> list[Part]:
    """What to have at hand: fittings, plugs, cord, screws, tubes, coolant."""
    found: list[Part] = []
    threads = Counter(
        (port.item.thread, port.item.use == "plugged" or port.item.use in ("fill", "drain", "bleed"))
        for port in shapes.ports.values()
        if port.item.thread
    )
    for (thread, closed), count in sorted(threads.items(), key=str):
        if closed:
            found.append(Part(f"Plug or valve {thread}", str(count), "with its O-ring: fill, drain, spare ports"))
        else:
            tube = f"tube {document.loop.tube_outer_diameter_mm:g}/{document.loop.tube_inner_diameter_mm:g} mm"
            note = "with its O-ring: one at the plate, one at the device"
            found.append(Part(f"Fitting {thread} for {tube}", str(2 * count), note))
    seal = design_seal(document, shapes)
    if seal.kind == "cord" and seal.gland is not None and seal.loops:
        length = seal.cord_length_mm
        pieces = ", ".join(f"{loop.cord_length_mm:.0f}" for loop in seal.loops)
        found.append(
            Part(f"Seal cord {seal.gland.cord_mm:g} mm", f"{length * (1 + CORD_SPARE) / 1000:.2f} m",
                 f"pieces of {pieces} mm; 5 % spare is in the length")
        )  # fmt: skip
    screws = Counter((hole.item.use, hole.item.screw, hole.item.kind) for hole in shapes.holes.values())
    for (use, screw, kind), count in sorted(screws.items()):
        found.append(Part(f"Screw {screw}", str(count), f"{use}, {kind}"))
    for id_, port in shapes.ports.items():
        if port.item.serves is not None:
            length = tube_length(document, shapes, id_)
            found.append(Part(f"Tube {id_} to {port.item.serves}", f"{length + TUBE_SPARE_MM:.0f} mm",
                              f"{length:.0f} mm between the two faces; {TUBE_SPARE_MM:.0f} mm spare"))  # fmt: skip
    if volume_l is not None:
        found.append(Part("Coolant", f"{volume_l * 1.1:.2f} l", "a tenth more than the loop holds"))
    return found


def tube_length(document: Document, shapes: Shapes, port: str) -> float:
    """Straight length from a port's mouth to the device port it serves, mm."""
    shape = shapes.ports[port]
    assert shape.item.serves is not None
    target = shapes.device_ports[shape.item.serves]
    height = {"top": shapes.thickness, "bottom": 0.0, "edge": shape.rise}[shape.item.face]
    return math.dist((*shape.at, document.plate.z_mm + height), (target.x, target.y, target.z))


def parts_csv(rows: list[Part]) -> str:
    """The parts list as CSV."""
    return table_csv(("part", "count", "note"), [(row.part, row.count, row.note) for row in rows])
