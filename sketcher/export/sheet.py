"""A sheet before it is a file: layers, and what is drawn on each, in mm seen from above.

Every kind of sheet is made into this form, and every kind of file is written from it. An outline that a cutter follows
is a closed path or a whole circle; text is strokes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any, Literal

from sketcher.export.strokes import text_strokes
from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import Path, Point, Segment, circle

Role = Literal["inner", "outer", "pocket", "mark", "note"]
Box = tuple[float, float, float, float]


class ExportError(ValueError):
    """The file cannot be made; the message names what stands in the way and what would put it right."""


@dataclass(frozen=True)
class Layer:
    """One layer: its name, what is done to it, how deep (mm; none goes through), and its colour by DXF number.

    ``inner`` contours are cut before ``outer`` ones; ``pocket`` is milled to its depth; ``mark`` is scored or printed;
    ``note`` is only read: where it is not ``shown``, a file that a beam follows leaves it out or hides it.
    """

    name: str
    role: Role
    about: str
    depth_mm: float | None = None
    colour: int = 7
    shown: bool = True


@dataclass(frozen=True)
class Entity:
    """One thing on a layer: a path, or a whole circle when ``round`` is given. ``item`` is the document's id."""

    layer: str
    path: Path
    round: tuple[Point, float] | None = None
    item: str = ""

    def box(self) -> Box:
        """Left, front, right and rear, mm."""
        if self.round is not None:
            (x, y), radius = self.round
            return (x - radius, y - radius, x + radius, y + radius)
        xs, ys = zip(*self.path.points(0.05), strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    def placed(self, dx: float, dy: float, quarter: bool = False) -> Entity:
        """The entity turned a quarter to the left about the origin when asked for, then shifted (mm)."""

        def move(point: Point) -> Point:
            x, y = (-point[1], point[0]) if quarter else point
            return (x + dx, y + dy)

        segments = tuple(Segment(move(s.start), move(s.end), s.bulge) for s in self.path.segments)
        whole = self.round and (move(self.round[0]), self.round[1])
        return replace(self, path=Path(segments, self.path.closed), round=whole)


@dataclass(frozen=True)
class Sheet:
    """Layers in the order in which they are worked, and what is on them; notes are for the person at the machine."""

    name: str
    title: str
    layers: tuple[Layer, ...]
    entities: tuple[Entity, ...]
    notes: tuple[str, ...] = ()

    def box(self) -> Box:
        """Left, front, right and rear of all that is drawn, mm; notes count where they are shown."""
        hidden = {layer.name for layer in self.layers if not layer.shown}
        boxes = [e.box() for e in self.entities if e.path.segments and e.layer not in hidden]
        if not boxes:
            return (0.0, 0.0, 1.0, 1.0)
        lefts, fronts, rights, rears = zip(*boxes, strict=True)
        return (min(lefts), min(fronts), max(rights), max(rears))

    def without_hidden(self) -> Sheet:
        """The sheet without layers that are not shown."""
        layers = tuple(layer for layer in self.layers if layer.shown)
        kept = {layer.name for layer in layers}
        return replace(self, layers=layers, entities=tuple(e for e in self.entities if e.layer in kept))

    def on(self, layer: str) -> list[Entity]:
        """What is on a layer, in order."""
        return [entity for entity in self.entities if entity.layer == layer]

    def cuts(self) -> Iterator[Entity]:
        """Every contour that is cut through, in the order of cutting."""
        cut = {layer.name for layer in self.layers if layer.role in ("inner", "outer")}
        return (entity for entity in self.entities if entity.layer in cut)

    def cut_length_mm(self) -> float:
        """Length of all contours that are cut through, mm."""
        return sum(entity.path.length for entity in self.cuts())


@dataclass
class Draft:
    """A sheet in the making."""

    entities: list[Entity] = field(default_factory=list)

    def contour(self, layer: str, outline: Contour, item: str = "") -> None:
        """A closed contour; a whole circle stays one."""
        self.entities.append(Entity(layer, outline.path, outline.round, item))

    def round(self, layer: str, centre: Point, diameter: float, item: str = "") -> None:
        """A whole circle."""
        self.entities.append(Entity(layer, circle(centre, diameter / 2), (centre, diameter / 2), item))

    def path(self, layer: str, path: Path, item: str = "") -> None:
        """A path, open or closed."""
        self.entities.append(Entity(layer, path, None, item))

    def line(self, layer: str, *points: Point, item: str = "") -> None:
        """An open line through points."""
        segments = tuple(Segment(a, b) for a, b in pairwise(points))
        self.entities.append(Entity(layer, Path(segments), None, item))

    def cross(self, layer: str, at: Point, arm: float, item: str = "") -> None:
        """A cross-hair: two lines of twice ``arm`` mm."""
        self.line(layer, (at[0] - arm, at[1]), (at[0] + arm, at[1]), item=item)
        self.line(layer, (at[0], at[1] - arm), (at[0], at[1] + arm), item=item)

    def cross_outside(self, layer: str, at: Point, radius: float, arm: float, item: str = "") -> None:
        """Four lines of ``arm`` mm from ``radius`` outwards: a cross-hair that is left when the hole is cut out."""
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            near, far = radius, radius + arm
            self.line(layer, (at[0] + dx * near, at[1] + dy * near), (at[0] + dx * far, at[1] + dy * far), item=item)

    def text(self, layer: str, at: Point, text: str, height: float, item: str = "") -> None:
        """Text in single strokes, its foot's left end at ``at``."""
        for stroke in text_strokes(text, at, height):
            self.line(layer, *stroke, item=item)

    def sheet(self, name: str, title: str, layers: Iterable[Layer], notes: Iterable[str] = ()) -> Sheet:
        """The finished sheet: entities in the order of their layers, and layers without any left out.

        What lies on what is there already is left out: nothing is cut or scored twice.
        """
        by_layer: dict[str, list[Entity]] = {}
        seen: set[tuple[Any, ...]] = set()
        for entity in self.entities:
            key = _key(entity)
            if entity.path.segments and key not in seen:
                seen.add(key)
                by_layer.setdefault(entity.layer, []).append(entity)
        kept = [layer for layer in layers if layer.name in by_layer]
        ordered = [entity for layer in kept for entity in by_layer[layer.name]]
        return Sheet(name, title, tuple(kept), tuple(ordered), tuple(notes))


def _key(entity: Entity) -> tuple[Any, ...]:
    """What two entities on a layer share when one lies on the other: the same edges, whichever way they run."""
    if entity.round is not None:
        (x, y), radius = entity.round
        return (entity.layer, round(x, 4), round(y, 4), round(radius, 4))
    edges = set()
    for s in entity.path.segments:
        start = (round(s.start[0], 4), round(s.start[1], 4))
        end = (round(s.end[0], 4), round(s.end[1], 4))
        bulge = round(s.bulge, 6) + 0.0
        edges.add((start, end, bulge) if start <= end else (end, start, -bulge + 0.0))
    return (entity.layer, frozenset(edges))
