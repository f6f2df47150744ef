"""The hole table: every round hole of body and lid from a named datum, as a machinist reads it."""

from __future__ import annotations

from dataclasses import dataclass

from sketcher.document import Document
from sketcher.export.final import edge_bores
from sketcher.export.operations import Operation, operations
from sketcher.export.table_files import millimetres, table_csv
from sketcher.geometry import Shapes
from sketcher.geometry.levels import from_joint_mm, joint_mm
from sketcher.geometry.path import Point
from sketcher.geometry.prisms import HALF_POINT_DEG
from sketcher.strength.seal import SealDesign, design_seal
from sketcher.strength.taps import run_out_mm

COLUMNS = (
    "id", "part", "what", "x_mm", "y_mm", "diameter_mm", "depth_mm", "thread", "thread_depth_mm", "from", "level_mm",
    "from_joint_mm", "form", "name",
)  # fmt: skip
_WHAT = {
    "bore": "port", "tap": "tapped hole", "hole": "hole", "counterbore": "counterbore", "countersink": "countersink",
}  # fmt: skip


@dataclass(frozen=True)
class HoleRow:
    """A hole from the datum, mm; x to the right, y to the rear.

    ``depth`` is none where the hole goes through its part. ``level`` is an edge port's axis above the plate's
    underside; ``from_joint`` is how far a blind hole ends (an edge port's axis lies) from the joint face, which stays
    when the sheet is thicker or thinner than its name. ``form`` says how a blind hole ends, a
    countersink's angle, how a slot lies.
    """

    id: str
    part: str
    what: str
    x: float
    y: float
    diameter: float
    depth: float | None
    thread: str
    thread_depth: float | None
    side: str
    level: float | None
    from_joint: float | None
    form: str
    name: str

    def cells(self) -> tuple[str, ...]:
        """The row as texts, in the order of ``COLUMNS``."""
        depth = "through" if self.depth is None else millimetres(self.depth)
        thread_depth, level, joint = (
            "" if v is None else millimetres(v) for v in (self.thread_depth, self.level, self.from_joint)
        )
        places = (millimetres(self.x), millimetres(self.y), millimetres(self.diameter))
        how = (depth, self.thread, thread_depth, self.side, level, joint, self.form)
        return (self.id, self.part, self.what, *places, *how, self.name)


def datum(shapes: Shapes) -> Point:
    """The datum on the floor, mm: the front left corner of the box around the plate."""
    left, front, _, _ = shapes.plate_polygon.bounds
    return float(left), float(front)


def holes(document: Document, shapes: Shapes, seal: SealDesign | None = None) -> list[HoleRow]:
    """Every port and screw hole of body and lid, in the document's order."""
    ox, oy = datum(shapes)
    made = operations(document, shapes, seal or design_seal(document, shapes))
    threads: dict[tuple[str, str], Operation] = {(op.item, op.part.name): op for op in made if op.kind == "thread"}
    names = {item.id: item.name for item in (*document.ports, *document.holes)}
    slots = {hole.id: hole.slot_length_mm for hole in document.holes if hole.slot_length_mm}
    rows = [_row(op, threads, names, slots, shapes, (ox, oy)) for op in made if op.kind in _WHAT]
    for id_, port in shapes.ports.items():
        if port.heading is None:
            continue
        bore, *thread = edge_bores(port)
        size, deep = (thread[0][1], thread[0][2]) if thread else ("", None)
        x, y = port.at[0] - ox, port.at[1] - oy
        rows.append(
            HoleRow(id_, "body", "edge port", x, y, bore[3], bore[2], size, deep, "edge", port.rise,
                    abs(port.rise - joint_mm(document)), _end(port.item.drill_end), names[id_])
        )  # fmt: skip
    order = {id_: n for n, id_ in enumerate((*shapes.ports, *shapes.holes))}
    return sorted(rows, key=lambda row: (order[row.id], row.part))


def _row(
    op: Operation,
    threads: dict[tuple[str, str], Operation],
    names: dict[str, str],
    slots: dict[str, float],
    shapes: Shapes,
    origin: Point,
) -> HoleRow:
    if op.item in shapes.ports:
        x, y = shapes.ports[op.item].at
    else:
        hole = shapes.holes[op.item].item
        x, y = hole.x_mm, hole.y_mm
    through = op.side == "through"
    thread, thread_depth = "", None
    if op.kind == "tap":
        thread = op.size.split("_")[0]
        screw = shapes.holes[op.item].screw
        # The tap's lead needs its room at the bottom of a blind hole: there the thread is not full.
        lead = run_out_mm(screw, shapes.document.seal.run_out) if screw is not None else 0.0
        thread_depth = None if through else max(op.depth - lead, 0.0)
    elif (cut := threads.get((op.item, op.part.name))) is not None and op.kind == "bore":
        thread, thread_depth = cut.size, cut.depth
    what = _WHAT[op.kind]
    if op.item in slots and op.contour.round is None:
        what = f"slot, {millimetres(slots[op.item])} mm over all"
    diameter = 2 * op.contour.round[1] if op.contour.round else float(op.size.split("D")[-1])
    joint = None if through else from_joint_mm(shapes.document, op.part.name.lower(), op.side, op.depth)
    return HoleRow(
        op.item, op.part.name.lower(), what, x - origin[0], y - origin[1], diameter, None if through else op.depth,
        thread, thread_depth, "either" if through else op.side, None, joint, _form(op, shapes), names.get(op.item, ""),
    )  # fmt: skip


def _form(op: Operation, shapes: Shapes) -> str:
    """How the hole ends or lies: its drill's point, its countersink, its slot's rotation."""
    if op.kind == "countersink":
        return "90°"
    hole = shapes.holes.get(op.item)
    if hole is not None and op.contour.round is None:
        return f"turned {millimetres(hole.item.turn_deg)}°"
    if op.side == "through" or op.kind == "counterbore":
        return ""
    if hole is None:
        port = shapes.ports[op.item]
        # A bore that meets its channel has no bottom of its own.
        return _end(port.item.drill_end) if port.point is not None or port.item.drill_end == "flat" else ""
    return _end(hole.item.drill_end)


def _end(drill_end: str) -> str:
    return "flat bottom" if drill_end == "flat" else f"point {2 * HALF_POINT_DEG:g}°"


def holes_csv(document: Document, shapes: Shapes) -> str:
    """The hole table as CSV (RFC 4180), numbers to the micrometre."""
    return table_csv(COLUMNS, [row.cells() for row in holes(document, shapes)])
