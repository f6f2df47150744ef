"""Set-ups: what is machined with the part clamped one way, in the coordinates that the machine is set to.

Every set-up counts from the datum, the front left corner of the plate's bounding box. From above, x runs to the right
and y to the rear. A part that is turned over is turned about the Y axis through the datum: y stays as it is, and x
changes its sign. An edge is seen square to it, u to the right, v up from the lower face of the body.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import shapely

from sketcher.document import Document
from sketcher.export.operations import Operation, Part, Side, operations, parts_of
from sketcher.export.sheet import ExportError
from sketcher.geometry import Shapes
from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import Path, Point, Segment
from sketcher.geometry.regions import Region, union
from sketcher.geometry.shapes import PortShape, polygon_of
from sketcher.strength.seal import SealDesign

#: The datum's mark on drawing, final sheet and set-ups: a word, since every letter may name a point of the survey.
DATUM = "DATUM"
#: Kinds that are milled as an area: those of one depth become one union with islands.
AREAS = ("channel", "pocket")
SetUpName = Literal["body-above", "body-below", "lid", "lid-inner"]


@dataclass(frozen=True)
class Frame:
    """From the floor's coordinates to a set-up's: from the datum, x changing its sign when the part is turned over."""

    datum: Point
    mirrored: bool

    def point(self, place: Point) -> Point:
        """A place in the set-up's coordinates, mm."""
        x, y = place[0] - self.datum[0], place[1] - self.datum[1]
        return (-x if self.mirrored else x, y)

    def path(self, path: Path) -> Path:
        """A path; arcs turn the other way when it is mirrored."""
        sign = -1 if self.mirrored else 1
        segments = tuple(Segment(self.point(s.start), self.point(s.end), sign * s.bulge + 0.0) for s in path.segments)
        moved = Path(segments, path.closed)
        return moved.reversed() if self.mirrored and path.closed else moved

    def contour(self, contour: Contour) -> Contour:
        """A contour; a circle stays one."""
        whole = contour.round and (self.point(contour.round[0]), contour.round[1])
        return Contour(self.path(contour.path), whole)


@dataclass(frozen=True)
class Pocket:
    """One region of one depth: the items that it belongs to and its area with islands, in the floor's coordinates."""

    depth: float
    region: Region
    items: tuple[str, ...]


@dataclass(frozen=True)
class SetUp:
    """The work on one side of a part.

    ``cuts_through`` says whether outline, cutouts and through holes are made here; in the other set-up of the part
    they are there already.
    """

    name: SetUpName
    part: Part
    side: Side
    frame: Frame
    cuts_through: bool
    pockets: tuple[Pocket, ...]
    operations: tuple[Operation, ...]

    @property
    def title(self) -> str:
        """In words."""
        return f"{self.part.name.capitalize()} from {self.side}"


def once_round(made: Sequence[Operation]) -> None:
    """Raises ``ExportError`` when an outline crosses itself: it has no inside that a shop could mill."""
    bad = dict.fromkeys(op.item for op in made if op.contour.round is None and not polygon_of(op.contour).is_valid)
    if bad:
        names = ", ".join(bad)
        raise ExportError(f"the outline of {names} crosses itself; move its corners so that it goes round once")


def datum_of(shapes: Shapes) -> Point:
    """The datum on the floor, mm: the front left corner of the plate's bounding box."""
    left, front, _, _ = shapes.plate_polygon.bounds
    return float(left), float(front)


def set_ups(document: Document, shapes: Shapes, seal: SealDesign) -> dict[SetUpName, SetUp]:
    """The body's two set-ups, the lid's from outside, and the lid's from inside where something is milled there."""
    body, lid = parts_of(document)
    made = operations(document, shapes, seal)
    once_round(made)
    joint: Side = "below" if document.plate.lid_face == "bottom" else "above"
    outer: Side = "above" if joint == "above" else "below"
    inner: Side = "below" if joint == "above" else "above"
    found: dict[SetUpName, SetUp] = {}
    for name, part, side, through in (
        ("body-above", body, "above", joint == "above"),
        ("body-below", body, "below", joint == "below"),
        ("lid", lid, outer, True),
        ("lid-inner", lid, inner, False),
    ):
        done = _set_up(name, part, side, through, made, datum_of(shapes))  # type: ignore[arg-type]
        if name != "lid-inner" or done.operations or done.pockets:
            found[done.name] = done
    return found


def _set_up(name: SetUpName, part: Part, side: Side, through: bool, made: Sequence[Operation], datum: Point) -> SetUp:
    here = [op for op in made if op.part == part and (op.side == side or (through and op.side == "through"))]
    areas = [op for op in here if op.kind in AREAS and op.side != "through"]
    others = tuple(op for op in here if op not in areas)
    return SetUp(name, part, side, Frame(datum, side == "below"), through, tuple(pockets(areas)), others)


def pockets(areas: Sequence[Operation]) -> Iterator[Pocket]:
    """Areas of one depth as one union each: its regions, with islands, the deepest first."""
    for depth in sorted({round(op.depth, 6) for op in areas}, reverse=True):
        same = [op for op in areas if round(op.depth, 6) == depth]
        groups = _touching(same)
        for group in groups:
            items = tuple(dict.fromkeys(op.item for op in group))
            for region in union([op.rings() for op in group]):
                yield Pocket(depth, region, items)


def _touching(areas: Sequence[Operation]) -> list[list[Operation]]:
    """Areas in groups that overlap or touch, so that each region knows whose it is."""
    shapes = [shapely.make_valid(polygon_of(op.contour)) for op in areas]
    blobs = shapely.get_parts(shapely.union_all([shape.buffer(0.01) for shape in shapes]))
    groups: dict[int, list[Operation]] = {}
    for op, shape in zip(areas, shapes, strict=True):
        home = next(n for n, blob in enumerate(blobs) if blob.intersects(shape))
        groups.setdefault(home, []).append(op)
    return list(groups.values())


@dataclass(frozen=True)
class EdgeSetUp:
    """An edge with ports in it, seen square to it.

    ``right`` is the direction of u on the floor; v counts from the lower face of the body.
    """

    name: str
    heading: Point
    ports: tuple[PortShape, ...]
    datum: Point
    body: Part

    @property
    def right(self) -> Point:
        """Unit vector of u on the floor: to the right for one who looks along the heading."""
        return (self.heading[1], -self.heading[0])

    def place(self, port: PortShape) -> Point:
        """Where a port's axis is: u from the datum, v above the body's lower face, mm."""
        return (self.along(port.at), port.rise - self.body.low)

    def along(self, place: Point) -> float:
        """u of a place on the floor, mm."""
        dx, dy = place[0] - self.datum[0], place[1] - self.datum[1]
        return dx * self.right[0] + dy * self.right[1]

    def span(self, shapes: Shapes) -> tuple[float, float]:
        """From where to where the plate reaches along u, mm."""
        reach = [self.along(point) for point in shapes.plate.path.points(0.01)]
        return min(reach), max(reach)


_SIDES: dict[tuple[float, float], str] = {(0, 1): "front", (0, -1): "rear", (1, 0): "left", (-1, 0): "right"}


def edge_set_ups(document: Document, shapes: Shapes) -> list[EdgeSetUp]:
    """Edges with ports, by their headings: front, rear, left and right, and others by their angle."""
    body, _ = parts_of(document)
    groups: dict[tuple[float, float], list[PortShape]] = {}
    for port in shapes.ports.values():
        if port.heading is not None:
            groups.setdefault((round(port.heading[0], 4) + 0.0, round(port.heading[1], 4) + 0.0), []).append(port)
    found = []
    for key, ports in groups.items():
        heading = ports[0].heading
        assert heading is not None
        angle = math.degrees(math.atan2(heading[1], heading[0])) % 360
        name = _SIDES.get((round(key[0], 3), round(key[1], 3)), f"heading-{angle:.4g}")
        found.append(EdgeSetUp(f"edge-{name}", heading, tuple(ports), datum_of(shapes), body))
    return sorted(found, key=lambda edge: edge.name)
