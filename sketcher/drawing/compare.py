"""Two states of a plate compared: what is gone, what is new, what moved and how far, what else changed.

The table is plain data; the overlay shows the old dashed, the new solid, and an arrow with its length for each move.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

import svgwrite

from sketcher.document import Document, items, to_plain
from sketcher.document.kinds import COLLECTIONS
from sketcher.drawing import marks
from sketcher.drawing.palette import INK, style_sheet
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.reference.colours import colour

What = Literal["gone", "new", "moved", "changed"]
#: Two places nearer than this are the same, mm.
SAME_MM = 1e-6
MARGIN_MM = 12.0
#: Keys that say where an item is: they make a move and not a change.
_PLACE = ("x_mm", "y_mm")


@dataclass(frozen=True)
class Difference:
    """One item that is not as it was; the move in mm, and the keys that changed besides."""

    id: str
    kind: str
    what: What
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    changed: tuple[str, ...] = ()

    def words(self) -> str:
        """The difference in a few words."""
        parts = []
        if abs(self.dx_mm) > SAME_MM:
            parts.append(f"{abs(self.dx_mm):.2f} mm to the {'right' if self.dx_mm > 0 else 'left'}")
        if abs(self.dy_mm) > SAME_MM:
            parts.append(f"{abs(self.dy_mm):.2f} mm to the {'rear' if self.dy_mm > 0 else 'front'}")
        return ", ".join([*parts, *self.changed])

    def as_json(self) -> dict[str, Any]:
        """The difference as plain values."""
        return {
            "id": self.id,
            "kind": self.kind,
            "what": self.what,
            "dx_mm": round(self.dx_mm, 4) + 0.0,
            "dy_mm": round(self.dy_mm, 4) + 0.0,
            "changed": list(self.changed),
            "words": self.words(),
        }


def differences(before: Document, after: Document) -> list[Difference]:
    """Every item that differs, and the document's other parts under their own names."""
    old, new = items(before), items(after)
    kinds = {**_kinds(before), **_kinds(after)}
    found: list[Difference] = []
    for id_ in dict.fromkeys([*old, *new]):
        if id_ not in new:
            found.append(Difference(id_, kinds[id_], "gone"))
        elif id_ not in old:
            found.append(Difference(id_, kinds[id_], "new"))
        elif old[id_] != new[id_]:
            found.append(_difference(id_, kinds[id_], old[id_].model_dump(), new[id_].model_dump()))
    one, other = to_plain(before), to_plain(after)
    inside = {*COLLECTIONS, "floor", "retired_ids"}
    for key in dict.fromkeys([*one, *other]):
        if key not in inside and one.get(key) != other.get(key):
            found.append(Difference(key, "document", "changed", changed=_keys(one.get(key), other.get(key))))
    if before.floor.outline != after.floor.outline:
        found.append(Difference("floor", "document", "changed", changed=("outline",)))
    return found


def _kinds(document: Document) -> dict[str, str]:
    found = {item.id: kind for key, (kind, _) in COLLECTIONS.items() for item in getattr(document, key)}
    found |= {item.id: "obstacle" for item in document.floor.obstacles}
    return found | {item.id: "opening" for item in document.floor.openings}


def _difference(id_: str, kind: str, old: dict[str, Any], new: dict[str, Any]) -> Difference:
    start, end = _place(old), _place(new)
    dx, dy = (end[0] - start[0], end[1] - start[1]) if start and end else (0.0, 0.0)
    changed = tuple(key for key in new if _without_place(old.get(key), dx, dy) != _without_place(new[key], 0.0, 0.0))
    changed = tuple(key for key in changed if key not in _PLACE)
    moved = math.hypot(dx, dy) > SAME_MM
    return Difference(id_, kind, "moved" if moved else "changed", dx, dy, changed)


def _place(item: dict[str, Any]) -> Point | None:
    """Where an item is: its own place, its outline's, or the middle of its corners."""
    for part in (item, item.get("outline") or {}):
        if "x_mm" in part:
            return (part["x_mm"], part["y_mm"])
        corners = part.get("vertices") or []
        if corners:
            return (
                sum(corner["x_mm"] for corner in corners) / len(corners),
                sum(corner["y_mm"] for corner in corners) / len(corners),
            )
    return None


def _without_place(value: Any, dx: float, dy: float) -> Any:
    """A value with its places moved along, rounded, so that what only moved with the item is no change."""
    if isinstance(value, dict):
        moved = {"x_mm": dx, "y_mm": dy}
        return {
            key: round(part + moved[key], 6)
            if key in moved and isinstance(part, int | float)
            else _without_place(part, dx, dy)
            for key, part in value.items()
        }
    if isinstance(value, list | tuple):
        return [_without_place(part, dx, dy) for part in value]
    return value


def _keys(old: Any, new: Any) -> tuple[str, ...]:
    if isinstance(old, dict) and isinstance(new, dict):
        return tuple(key for key in dict.fromkeys([*old, *new]) if old.get(key) != new.get(key))
    return ()


def overlay_svg(before: Shapes, after: Shapes, found: list[Difference], alone: bool = True) -> str:
    """Old and new on one another as SVG in mm."""
    boxes = [shapes.plate_polygon.bounds for shapes in (before, after)]
    left, front = min(b[0] for b in boxes) - MARGIN_MM, min(b[1] for b in boxes) - MARGIN_MM
    right, rear = max(b[2] for b in boxes) + MARGIN_MM, max(b[3] for b in boxes) + MARGIN_MM
    drawing = svgwrite.Drawing(
        debug=False,
        size=(f"{marks.number(right - left)}mm", f"{marks.number(rear - front)}mm"),
        viewBox=f"{marks.number(left)} {marks.number(-rear)} {marks.number(right - left)} {marks.number(rear - front)}",
    )
    if alone:
        drawing.defs.add(drawing.style(style_sheet() + _STYLE))
    root = marks.SVG.g(class_="plan overlay", transform="scale(1 -1)")
    touched = {difference.id: difference for difference in found}
    for shapes, age in ((before, "old"), (after, "now")):
        layer = marks.group(f"layer {age}", layer=age)
        for id_, kind, part in _outlines(shapes, age):
            if age == "now" or id_ in touched or id_ == "plate":
                layer.add(marks.item(id_, kind, [part]))
        root.add(layer)
    arrows = marks.group("layer moves", layer="moves")
    for difference in found:
        place = _middle(before, difference.id)
        if difference.what == "moved" and place is not None:
            for part in _arrow(place, difference):
                arrows.add(part)
    root.add(arrows)
    drawing.add(root)
    return str(drawing.tostring())


_STYLE = f"""
.old path, .old circle {{ stroke: {colour("vermillion")}; stroke-dasharray: 2 1.5; }}
.now path, .now circle {{ stroke: {INK}; }}
.move-line {{ stroke: {colour("blue")}; stroke-width: .7; }} .move-word {{ fill: {colour("blue")}; }}
"""


def _outlines(shapes: Shapes, age: str) -> Iterator[tuple[str, str, Any]]:
    yield "plate", "plate", marks.outline(shapes.plate, f"{age}-line")
    for id_, channel in shapes.channels.items():
        yield id_, "channel", marks.area(channel.polygon, f"{age}-line")
    for group in (shapes.cutouts, shapes.pockets, shapes.keep_outs):
        for id_, area in group.items():
            if area.contour is not None:
                yield id_, area.kind, marks.outline(area.contour, f"{age}-line")
    for id_, port in shapes.ports.items():
        yield id_, "port", marks.disc(port.at, port.bore_diameter / 2, f"{age}-line")
    for id_, hole in shapes.holes.items():
        yield id_, "hole", marks.outline(hole.contour, f"{age}-line")


def _middle(shapes: Shapes, id_: str) -> Point | None:
    item = items(shapes.document).get(id_)
    return None if item is None else _place(item.model_dump())


def _arrow(start: Point, difference: Difference) -> Iterator[Any]:
    """The move, drawn at its true length, with the length in words; a short one is shown by its words."""
    end = (start[0] + difference.dx_mm, start[1] + difference.dy_mm)
    length = math.dist(start, end)
    yield marks.line(start, end, "move-line")
    ux, uy = difference.dx_mm / length, difference.dy_mm / length
    head = min(3.0, length / 2)
    for side in (1, -1):
        back = (end[0] - head * ux + side * head / 2 * uy, end[1] - head * uy - side * head / 2 * ux)
        yield marks.line(end, back, "move-line")
    yield marks.text(f"{difference.id} {length:.2f}", (end[0] + 3, end[1] + 3), "move-word tag")
