"""A sheet before it is a file: layers, and what is drawn on each, in mm seen from above.

Every kind of sheet is made into this form, and every kind of file is written from it. An outline that a cutter follows
is a closed path or a whole circle; text is strokes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

from sketcher.export.strokes import text_strokes
from sketcher.geometry.outlines import Contour
from sketcher.geometry.path import Path, Point, Segment, circle

Role = Literal["inner", "outer", "pocket", "mark"]
SHEETS = ("test-piece", "final", "floor-cut", "paper")


class ExportError(ValueError):
    """The file cannot be made; the message names what stands in the way and what would mend it."""


@dataclass(frozen=True)
class Layer:
    """One layer: its name, what is done to it, how deep (mm; none goes through), and its colour (AutoCAD index).

    ``inner`` contours are cut before ``outer`` ones; ``pocket`` is milled to its depth; ``mark`` is scored or printed.
    """

    name: str
    role: Role
    about: str
    depth_mm: float | None = None
    colour: int = 7


@dataclass(frozen=True)
class Entity:
    """One thing on a layer: a path, or a whole circle when ``round`` is given. ``item`` is the document's id."""

    layer: str
    path: Path
    round: tuple[Point, float] | None = None
    item: str = ""


@dataclass(frozen=True)
class Sheet:
    """Layers in the order in which they are worked, and what is on them; notes are for the person at the machine."""

    name: str
    title: str
    layers: tuple[Layer, ...]
    entities: tuple[Entity, ...]
    notes: tuple[str, ...] = ()

    def box(self) -> tuple[float, float, float, float]:
        """Left, front, right and rear of all that is drawn, mm."""
        points = [point for entity in self.entities for point in entity.path.points(0.05)]
        if not points:
            return (0.0, 0.0, 1.0, 1.0)
        xs, ys = zip(*points, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    def on(self, layer: str) -> list[Entity]:
        """What is on a layer, in order."""
        return [entity for entity in self.entities if entity.layer == layer]

    def cut_length_mm(self) -> float:
        """Length of all contours that are cut through, mm."""
        cut = {layer.name for layer in self.layers if layer.role in ("inner", "outer")}
        return sum(entity.path.length for entity in self.entities if entity.layer in cut)


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

    def text(self, layer: str, at: Point, text: str, height: float, item: str = "") -> None:
        """Text in single strokes, its foot's left end at ``at``."""
        for stroke in text_strokes(text, at, height):
            self.line(layer, *stroke, item=item)

    def sheet(self, name: str, title: str, layers: Iterable[Layer], notes: Iterable[str] = ()) -> Sheet:
        """The finished sheet: entities in the order of their layers, and layers without any left out."""
        kept = [layer for layer in layers if any(entity.layer == layer.name for entity in self.entities)]
        ordered = [entity for layer in kept for entity in self.entities if entity.layer == layer.name]
        return Sheet(name, title, tuple(kept), tuple(ordered), tuple(notes))
