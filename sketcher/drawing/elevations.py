"""The case seen level: from the front, the rear, the left or the right, as SVG in mm, everything at its true height.

What is hard is taken from the bodies that the rules measure, so a collision that is found is a collision that is seen.
The nearer thing is drawn over the farther one. The SVG's user unit is the mm; its y runs down, heights run up: one
group, ``g.elevation``, turns it over. An item is a ``g.item`` with ``data-id`` and ``data-kind``, as in the plan; a
tube is one group for each straight and bend, because it may pass behind one thing and in front of another.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from svgwrite.base import BaseElement
from svgwrite.container import Group

from sketcher.checks.scene import Scene
from sketcher.checks.space import Bodies, bodies_of
from sketcher.document.hardware import Board
from sketcher.drawing import marks
from sketcher.drawing.elevation_drags import TOP, Move, moves_of
from sketcher.drawing.plan import svg_of
from sketcher.findings import rule_named
from sketcher.geometry import solids
from sketcher.geometry.bodies import Body
from sketcher.geometry.levels import gasket_mm, joint_mm
from sketcher.geometry.path import Point
from sketcher.tubes.runs import Places, Run, runs

Vector = NDArray[np.float64]
#: Left, low, right, high in the picture, mm.
Box = tuple[float, float, float, float]
Side = Literal["front", "rear", "left", "right"]
SIDES: tuple[Side, ...] = ("front", "rear", "left", "right")
#: Room around everything drawn, mm.
MARGIN_MM = 12.0
#: A case of no stated height is drawn this much higher than what stands in it, mm.
HEADROOM_MM = 20.0
#: A device's port is a diamond of this reach, mm, and the arrow of the way its tube leaves it so long.
PORT_MM, WAY_MM = 2.5, 9.0
#: A way of which less than this share lies across the picture runs along the look.
ACROSS = 0.2
#: A line seen along its own length is a point, mm.
POINT_MM = 0.01
#: Whose ids are written, when at least so much of them is seen, mm².
NAMED, NAMED_MM2 = frozenset({"board", "device", "obstacle", "plate"}), 60.0
#: Rules between the plate and the thing that they name alone.
PLATE_RULES = frozenset({"plate-body", "plate-over-obstacle"})


@dataclass(frozen=True)
class View:
    """From where the case is seen.

    Attributes:
        side: where the eye stands.
        axis: the floor's axis that runs across the picture, 0 for x and 1 for y; the eye looks along the other one.
        sign: 1 when that axis grows to the right of the picture, -1 when it grows to the left.
        ahead: 1 when the eye looks along its axis, -1 when it looks against it.
    """

    side: Side
    axis: int
    sign: int
    ahead: int

    def flat(self, points: Vector) -> Vector:
        """Points (n, 3) of the floor's axes as (n, 2) in the picture: to the right, and up."""
        return np.column_stack([self.sign * points[:, self.axis], points[:, 2]])

    def far(self, points: Vector) -> Vector:
        """How far away each of the points (n, 3) is along the look, mm, from wherever the floor's origin is."""
        return np.asarray(self.ahead * points[:, 1 - self.axis])


VIEWS: dict[Side, View] = {
    "front": View("front", 0, 1, 1),
    "rear": View("rear", 0, -1, -1),
    "left": View("left", 1, -1, 1),
    "right": View("right", 1, 1, -1),
}


@dataclass(frozen=True, eq=False)
class Seen:
    """One drawn thing: its extent in the picture and away from the eye, mm, its marks, and what it covers."""

    id: str
    kind: str
    box: Box
    near: float
    far: float
    parts: tuple[BaseElement, ...]
    shape: shapely.Geometry


@dataclass(frozen=True, eq=False)
class Elevation:
    """A drawn elevation.

    Attributes:
        view: from where.
        box: what the picture shows, mm: left, low, right, high in its own axes (left and right carry the view's sign).
        root: the group of everything, heights up.
        seen: what is drawn, the farthest first.
        moves: what a drag of an item changes, by the item's id.
    """

    view: View
    box: Box
    root: Group = field(repr=False)
    seen: tuple[Seen, ...]
    moves: dict[str, Move]

    def svg(self, alone: bool = True) -> str:
        """The SVG text. One that stands alone carries its own colours."""
        return svg_of(self.root, self.box, alone)

    def as_json(self) -> dict[str, Any]:
        """The view with the keys of the HTTP answer."""
        return {
            "svg": self.svg(alone=False),
            "box": [round(value, 3) for value in self.box],
            "axis": "xy"[self.view.axis],
            "sign": self.view.sign,
            "items": [
                {
                    "id": seen.id,
                    "kind": seen.kind,
                    "box": [round(value, 3) for value in seen.box],
                    "near": round(seen.near, 3),
                    "far": round(seen.far, 3),
                }
                for seen in self.seen
            ],
            "moves": {id_: move.as_json(self.view.axis, self.view.sign) for id_, move in self.moves.items()},
        }


def elevation(scene: Scene, side: Side = "front", findings: Iterable[Mapping[str, Any]] = ()) -> Elevation:
    """The case and what is in it, seen from one side.

    Args:
        scene: the document's shapes as the rules see them.
        side: where the eye stands.
        findings: those to be marked, in the form of ``Finding.as_json``; what they name that is not drawn is left out.
    """
    view = VIEWS[side]
    tubes = runs(scene.document, scene.shapes)
    seen = sorted([*_bodies(scene, view), *_tubes(view, tubes), *_ports(scene, view)], key=lambda s: (-s.near, -s.far))
    box = _box(scene, view, seen)
    root = marks.SVG.g(class_="plan elevation", transform="scale(1 -1)")
    named = _by_item(findings, {one.id for one in seen})
    moves = moves_of(scene.document, scene.shapes, tubes)
    for name, groups in (
        ("case", _case(scene, view, box)),
        ("bodies", (_group(one, named.get(one.id, [])) for one in seen)),
        ("tops", _tops(seen, moves)),
        ("corners", _corners(view, tubes)),
        ("names", _names(seen)),
        ("findings", _marks(view, seen, tubes, named)),
    ):
        layer = marks.group("layer", layer=name)
        for part in groups:
            layer.add(part)
        root.add(layer)
    return Elevation(view, box, root, tuple(seen), moves)


def _bounds(area: shapely.Geometry) -> Box:
    left, low, right, high = (float(value) for value in shapely.bounds(area))
    return (left, low, right, high)


def _silhouette(view: View, body: Body) -> shapely.Geometry:
    """What a body covers of the picture."""
    if body.pieces:
        return shapely.union_all([shapely.MultiPoint(view.flat(piece)).convex_hull for piece in body.pieces])
    boxes = []
    for part in shapely.get_parts(body.area):
        across = [view.sign * value for value in np.asarray(shapely.bounds(part))[[view.axis, view.axis + 2]]]
        boxes.append(shapely.box(min(across), body.low, max(across), body.high))
    return shapely.union_all(boxes)


def _depths(view: View, body: Body) -> tuple[float, float]:
    if body.pieces:
        away = np.concatenate([view.far(piece) for piece in body.pieces])
    else:
        away = view.ahead * np.asarray(shapely.bounds(body.area))[[1 - view.axis, 3 - view.axis]]
    return float(away.min()), float(away.max())


def _of_body(view: View, body: Body, kind: str, class_: str) -> Seen:
    shape = _silhouette(view, body)
    parts = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon":
            parts.append(marks.area(part, class_))
        elif part.geom_type == "LineString":  # of no height, or of no depth and seen on edge
            start, end = part.coords[0], part.coords[-1]
            parts.append(marks.line((start[0], start[1]), (end[0], end[1]), class_))
    return Seen(body.id or "plate", kind, _bounds(shape), *_depths(view, body), tuple(parts), shape)


def _bodies(scene: Scene, view: View) -> Iterator[Seen]:
    bodies: Bodies = bodies_of(scene)
    boards = {board.id: board for board in scene.document.boards}
    for body in bodies.hardware:
        if body.id in boards:
            yield from _board(scene, view, boards[body.id])
        else:
            yield _of_body(view, body, "device", "hardware device")
    for body in bodies.obstacles:
        yield _of_body(view, body, "obstacle", "obstacle area")
    yield _plate(scene, view, bodies.plate)
    for port, body in bodies.fittings:
        yield _of_body(view, body, "port", f"fitting {port.item.face}")
    for body in bodies.heads:
        yield _of_body(view, body, "hole", "head")


def _board(scene: Scene, view: View, board: Board) -> Iterator[Seen]:
    """A board's sheet, and the room of the parts on it: two boxes, because one may hide the other."""
    plan, frame = scene.shapes.boards[board.id].plan, scene.shapes.frames[board.id]
    assert plan is not None
    rooms = (("hardware board parts", 0.0, board.parts_height_mm), ("hardware board sheet", -board.thickness_mm, 0.0))
    for class_, low, high in rooms:
        if high > low:
            corners = frame.origin + solids.upright(plan, low, high) @ frame.axes.T
            shape, away = shapely.MultiPoint(view.flat(corners)).convex_hull, view.far(corners)
            parts = tuple(marks.area(part, class_) for part in shapely.get_parts(shape))
            yield Seen(board.id, "board", _bounds(shape), float(away.min()), float(away.max()), parts, shape)


def _plate(scene: Scene, view: View, body: Body) -> Seen:
    seen = _of_body(view, body, "plate", "plate-outline")
    left, low, right, _ = seen.box
    joint = low + joint_mm(scene.document)
    # Two lines where a gasket is between body and lid.
    levels = dict.fromkeys((joint, joint + gasket_mm(scene.document)))
    lines = [marks.line((left, level), (right, level), "joint-line") for level in levels]
    return replace(seen, parts=(*seen.parts, *lines))


def _tubes(view: View, tubes: Sequence[Run]) -> Iterator[Seen]:
    """Each tube in its straights and bends; what its fittings take at the ends belongs to the first and the last."""
    for run in tubes:
        parts = list(run.line.parts())
        lines = [np.vstack([run.start.at, parts[0][0]]), *parts, np.vstack([parts[-1][-1], run.end.at])]
        for line in lines:
            steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
            if steps.sum() < POINT_MM:
                continue
            radius = run.outer_mm / 2
            flat, away = view.flat(line), view.far(line)
            if np.ptp(flat, axis=0).max() < POINT_MM:  # seen along its length
                shape, class_ = shapely.Point(flat[0]).buffer(radius), "tube-end"
            else:
                shape, class_ = shapely.LineString(flat).buffer(radius, cap_style="flat"), "tube"
            depths = float(away.min()) - radius, float(away.max()) + radius
            drawn = tuple(marks.area(part, class_) for part in shapely.get_parts(shape))
            yield Seen(run.id, run.kind, _bounds(shape), *depths, drawn, shape)


def _ports(scene: Scene, view: View) -> Iterator[Seen]:
    """The ports of the devices, on the nearest side of what carries them, each with the way its tube leaves it."""
    places = Places(scene.document, scene.shapes)
    for place in scene.shapes.device_ports.values():
        _, at, axis = places.end(place.ref)
        point = np.array([at])
        ((across, up),), (away,) = view.flat(point), view.far(point)
        x, z, r = float(across), float(up), PORT_MM
        n = marks.number
        data = f"M{n(x - r)} {n(z)}L{n(x)} {n(z + r)}L{n(x + r)} {n(z)}L{n(x)} {n(z - r)}Z"
        parts: list[BaseElement] = [marks.SVG.path(d=data, class_="device-port")]
        shape = shapely.box(x - r, z - r, x + r, z + r)
        if axis is not None:
            way, sight = view.flat(np.array([axis]))[0], float(view.far(np.array([axis]))[0])
            strokes = _arrow((x, z), (float(way[0]), float(way[1])), sight)
            parts += [marks.line(start, end, "port-way") for start, end in strokes]
            shape = shapely.box(*shapely.total_bounds([shape, shapely.MultiLineString(strokes)]))
        yield Seen(place.ref, "device-port", _bounds(shape), float(away) - r, float(away) + r, tuple(parts), shape)


def _arrow(at: Point, way: Point, sight: float) -> list[tuple[Point, Point]]:
    """The way a tube leaves a port: an arrow across the picture; away from the eye its feathers, a cross; towards the
    eye its point, a dot. ``way`` is a unit vector's share across the picture, ``sight`` its share along the look."""
    x, z = at
    if math.hypot(*way) < ACROSS:
        r = PORT_MM / 2 if sight > 0 else PORT_MM / 8
        return [((x - r, z - r), (x + r, z + r)), ((x - r, z + r), (x + r, z - r))]
    dx, dz = (WAY_MM * value for value in way)
    tip = (x + dx, z + dz)
    barbs = [(tip[0] - 0.3 * dx + side * 0.2 * dz, tip[1] - 0.3 * dz - side * 0.2 * dx) for side in (1, -1)]
    return [(at, tip), *((tip, barb) for barb in barbs)]


def _group(one: Seen, findings: Sequence[Mapping[str, Any]]) -> Group:
    level = "error" if any(f.get("level") == "error" for f in findings) else "warning" if findings else None
    return marks.item(one.id, one.kind, one.parts, level=level)


def _names(seen: Sequence[Seen]) -> Iterator[BaseElement]:
    """The ids, each where its thing is not hidden by what is nearer; what is hidden altogether has none."""
    for index, one in enumerate(seen):
        if one.kind not in NAMED or any(other.id == one.id for other in seen[index + 1 :] if other.kind == one.kind):
            continue
        whole = shapely.union_all([other.shape for other in seen if (other.id, other.kind) == (one.id, one.kind)])
        left = shapely.difference(whole, shapely.union_all([other.shape for other in seen[index + 1 :]]))
        largest = max(shapely.get_parts(left), key=shapely.area, default=None)
        if largest is not None and largest.area >= NAMED_MM2:
            middle = shapely.centroid(largest)
            if not shapely.dwithin(largest, middle, 0.0):
                middle = shapely.get_point(shapely.maximum_inscribed_circle(largest, 2.0), 0)
            yield marks.item(one.id, "name", [marks.text(one.id, (middle.x, middle.y), "tag middle")])


def _tops(seen: Sequence[Seen], moves: Mapping[str, Move]) -> Iterator[Group]:
    """A handle along the top edge of everything whose height is one number."""
    highest: dict[str, Seen] = {}
    for one in seen:
        if f"{one.id}/{TOP}" in moves and (one.id not in highest or one.box[3] > highest[one.id].box[3]):
            highest[one.id] = one
    for one in highest.values():
        left, _, right, high = one.box
        yield marks.item(one.id, "top-edge", [marks.line((left, high), (right, high), "top-edge")], index=TOP)


def _corners(view: View, tubes: Sequence[Run]) -> Iterator[Group]:
    """A handle at each corner that the document gives of a tube."""
    for run in tubes:
        for index, corner in enumerate(run.course.points):
            ((x, z),) = view.flat(np.array([[corner.x_mm, corner.y_mm, corner.z_mm]]))
            handle = marks.disc((float(x), float(z)), 2.0, "corner")
            yield marks.item(run.id, "tube-corner", [handle], index=str(index))


def _case(scene: Scene, view: View, box: Box) -> Iterator[Group]:
    """The floor's sheet, open where it has a hole all the way across, its two walls, and what closes the case."""
    floor, shapes = scene.document.floor, scene.shapes
    left, right = _across(view, shapes.floor_polygon)
    top = floor.clear_height_mm
    sheet = shapely.box(left, -floor.thickness_mm, right, 0.0)
    yield marks.item("floor", "floor", [marks.area(sheet, "floor-outline")])
    for area in shapes.openings.values():
        a, b = _across(view, area.polygon)
        yield marks.item(area.id, "opening", [marks.area(shapely.box(a, -floor.thickness_mm, b, 0.0), "opening")])
    high = top if top is not None else box[3] - MARGIN_MM
    walls = [marks.line((x, 0.0), (x, high), "case-wall") for x in (left, right)]
    yield marks.item("walls", "wall", walls)
    if top is not None:
        words = marks.text(f"{top:g}", (left, top + 2.0), "scale-word")
        yield marks.item("ceiling", "ceiling", [marks.line((left, top), (right, top), "case-ceiling"), words])


def _across(view: View, area: shapely.Geometry) -> tuple[float, float]:
    bounds = _bounds(area)
    ends = sorted(view.sign * value for value in (bounds[view.axis], bounds[view.axis + 2]))
    return float(ends[0]), float(ends[1])


def _box(scene: Scene, view: View, seen: Sequence[Seen]) -> Box:
    left, right = _across(view, scene.shapes.floor_polygon)
    low, high = -scene.document.floor.thickness_mm, scene.document.floor.clear_height_mm
    highest = max((one.box[3] for one in seen), default=0.0)
    return (
        min([left, *(one.box[0] for one in seen)]) - MARGIN_MM,
        min([low, *(one.box[1] for one in seen)]) - MARGIN_MM,
        max([right, *(one.box[2] for one in seen)]) + MARGIN_MM,
        max(highest + HEADROOM_MM if high is None else 0.0, high or 0.0, highest) + MARGIN_MM,
    )


def _by_item(findings: Iterable[Mapping[str, Any]], drawn: set[str]) -> dict[str, list[Mapping[str, Any]]]:
    """The errors and warnings about fit that stand open, by each drawn item that they name."""
    found: dict[str, list[Mapping[str, Any]]] = {}
    for finding in findings:
        rule = rule_named(str(finding.get("rule")))
        if finding.get("accepted") or finding.get("level") == "note" or rule is None or rule.question != "fits":
            continue
        for row in finding.get("listed") or [finding]:
            # The plate has no id of its own: what names nobody else is about the plate.
            items = [str(item) for item in row.get("items") or ("plate",)]
            if rule.name in PLATE_RULES and "plate" not in items:
                items.append("plate")
            one = {**finding, "items": items, "at": row.get("at")}
            for item in drawn.intersection(items):
                found.setdefault(item, []).append(one)
    return found


def _marks(
    view: View, seen: Sequence[Seen], tubes: Sequence[Run], named: Mapping[str, Sequence[Mapping[str, Any]]]
) -> Iterator[Group]:
    """A mark where two drawn things meet, or at the one that a finding is about, at the height where it happens."""
    extents: dict[str, Box] = {}
    for one in seen:
        a, b = extents.get(one.id, one.box), one.box
        extents[one.id] = (min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3]))
    lines = {run.id: run.line.points() for run in tubes}
    done = set()
    for findings in named.values():
        for finding in findings:
            key = (finding.get("rule"), tuple(finding["items"]))
            if key in done:
                continue
            done.add(key)
            at = finding.get("at")
            boxes = [_near(extents[item], lines.get(item), at) for item in finding["items"] if item in extents]
            x, z = _where(view, boxes, at)
            level = str(finding["level"])
            made = marks.group(f"finding {level}", rule=str(finding.get("rule")), level=level)
            made.add(marks.SVG.path(d=f"M{marks.number(x)} {marks.number(z)}h0", class_="finding-mark"))
            yield made


def _near(box: Box, line: Vector | None, at: Sequence[float] | None) -> Box:
    """A tube's extent where it passes a place in plan: a bent one is at many heights, but few of them there."""
    if line is None or at is None:
        return box
    shares = np.linspace(0.0, 1.0, 21)[:, None]
    points = np.vstack([a + shares * (b - a) for a, b in itertools.pairwise(line)])
    away = np.hypot(points[:, 0] - at[0], points[:, 1] - at[1])
    heights = points[away <= away.min() + 1.0, 2]
    return (box[0], float(heights.min()), box[2], float(heights.max()))


def _where(view: View, boxes: Sequence[Box], at: Sequence[float] | None) -> Point:
    """Between the two where they are nearest in height; across, where the finding says it is."""
    low, high = max(box[1] for box in boxes), min(box[3] for box in boxes)
    left, right = max(box[0] for box in boxes), min(box[2] for box in boxes)
    across = (left + right) / 2 if at is None else view.sign * at[view.axis]
    return (across, (low + high) / 2)
