"""What the rules look at: the shapes, the limits in force, and who is near whom, worked out once."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import combinations
from typing import Any, TypeVar, cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry

from sketcher.checks.near import FACES, Near, Rows, near
from sketcher.checks.plate_solid import sound
from sketcher.document import Document
from sketcher.document.moved_items import ITEM_LISTS
from sketcher.document.remembered import Recent, Remembered, parts_of
from sketcher.flow import FlowResult, solve_loop
from sketcher.flow.loop import alike
from sketcher.geometry import Shapes
from sketcher.geometry.levels import gasket_mm, tolerances_mm
from sketcher.geometry.path import Point
from sketcher.geometry.prisms import Barrel, Prism, moved
from sketcher.geometry.shapes import LINE_TOLERANCE_MM, ChannelShape

#: Prisms nearer than this are looked at more closely, mm; a larger limit in the document widens it.
NEAR_MM = 8.0
#: Nearer than this in plan is touching, mm.
TOUCH_MM = 1e-6

Kept = TypeVar("Kept")


@dataclass(frozen=True)
class Neighbours:
    """Pairs of prisms, by index into ``scene.prisms``, and how far apart they are (mm): in plan, in space, and in space
    on the thinnest sheets that the tolerances allow."""

    first: Rows
    second: Rows
    plan: NDArray[np.float64]
    apart: NDArray[np.float64]
    thin: NDArray[np.float64]


def at_least(limit: float) -> float:
    """A limit for a wall: flush is 0, and 0 is an error, whatever limit was typed in."""
    return max(limit, 2 * TOUCH_MM)


#: What nothing that is solved or designed asks of a document.
ASIDE = frozenset((
    "name", "note", "survey", "photo", "groups", "test_piece", "fit_readings", "landings", "ties", "spreads", "grid",
    "accepted", "retired_ids",
))  # fmt: skip
#: What neither the loop nor its tubes ask of it either: they read ports, channels, junctions, devices, boards, floor,
#: plate, loop and limits.
# Of the seal they ask for nothing but the gasket, which lifts what is over the joint.
_NOT_OF_FLOW = ASIDE | {"cutouts", "pockets", "holes", "keep_outs", "seal", "shop"}
_flows: Remembered[FlowResult] = Remembered(most=8)
_dragged_flows: Remembered[FlowResult] = Remembered(most=8)
_last_flow: Recent[FlowResult] = Recent(2)


def heights_and_parts_of(document: Document, aside: frozenset[str]) -> tuple[tuple[Any, ...], Hashable]:
    """A key for what is remembered of a document without its seal: its parts, and the gasket's share of heights."""
    parts, values = parts_of(document, aside)
    return parts, (values, gasket_mm(document))


class Scene:
    """One document's shapes as the rules see them."""

    def __init__(self, shapes: Shapes, limits: dict[str, float], flow: FlowResult | None = None) -> None:
        self.shapes = shapes
        self._flow = flow
        self.document: Document = shapes.document
        self.limits = limits
        #: Whether anybody asks for fixes; rules may leave out what is costly to work out.
        self.fixes = True
        #: Whether an item is dragged, and the way here from the plate as it was a move before, where it is known.
        self.dragged = False
        self.step: Any = None
        self._kept: dict[Callable[..., Any], Any] = {}

    def once(self, make: Callable[[Scene], Kept]) -> Kept:
        """What a module of rules works out of the whole scene, once for all of them.

        It goes when the scene goes; so that this is at once, it holds no scene itself.
        """
        if make not in self._kept:
            self._kept[make] = make(self)
        return cast(Kept, self._kept[make])

    def limit(self, rule: str) -> float:
        """The limit in force for a rule: the document's own, or the default."""
        return self.limits[rule]

    @cached_property
    def flow(self) -> FlowResult:
        """What the loop does."""
        if self._flow is not None:
            return self._flow
        key = heights_and_parts_of(self.document, _NOT_OF_FLOW)
        if self.dragged and not _flows.knows(*key):
            return _dragged_flows.of(*key, self._stepped_flow)
        return _flows.of(*key, lambda: solve_loop(self.document, self.shapes))

    def _stepped_flow(self) -> FlowResult:
        """The flow while an item is dragged: the search begins at that of the move before. It ends as near to the
        balance as any other, but not on the same last digit, so nothing else is answered with it."""
        for before in _last_flow.all():
            if alike(before.loop, self.document):
                found = solve_loop(self.document, self.shapes, before)
                break
        else:
            found = solve_loop(self.document, self.shapes)
        _last_flow.add(found)
        return found

    @property
    def flow_at_hand(self) -> bool:
        """Whether the loop is solved already, for this scene or for an earlier one with the same loop."""
        if self._flow is not None or "flow" in self.__dict__:
            return True
        return _flows.knows(*heights_and_parts_of(self.document, _NOT_OF_FLOW))

    @cached_property
    def numbers(self) -> dict[str, tuple[str, int]]:
        """The list of the document that every item is in, and its number there: for the places that fixes set."""
        return {item.id: (key, n) for key in ITEM_LISTS for n, item in enumerate(getattr(self.document, key))}

    def mouth(self, device: str, port: str) -> Point | None:
        """Where a device's port is in plan, mm; none for one that has no place."""
        place = self.shapes.device_ports.get(f"{device}.{port}")
        return None if place is None else (place.x, place.y)

    def place(self, id_: str) -> Point | None:
        """Where an item is on the floor, mm; none for what has no place."""
        shapes = self.shapes
        if id_ in shapes.ports:
            return shapes.ports[id_].root
        if id_ in shapes.channels:
            path = shapes.channels[id_].path
            return path.at(path.length / 2) if path.segments else None
        for branch in self.document.branches:
            if branch.id == id_:
                return (branch.x_mm, branch.y_mm)
        if id_ in shapes.frames:
            x, y, _ = shapes.frames[id_].origin
            return (float(x), float(y))
        return None

    @cached_property
    def prisms(self) -> tuple[Prism, ...]:
        """All that is cut: the prisms, then drill points and what else no prism says."""
        return (*self.shapes.prisms, *self.shapes.further)

    @cached_property
    def _ends(self) -> dict[str, frozenset[str]]:
        return {
            channel.id: frozenset(end for end in (channel.start, channel.end) if end is not None)
            for channel in self.document.channels
        }

    @cached_property
    def channels_at(self) -> dict[str, list[ChannelShape]]:
        """The channels at every port and branch that has any."""
        found: dict[str, list[ChannelShape]] = {}
        for id_, ends in self._ends.items():
            for end in ends:
                found.setdefault(end, []).append(self.shapes.channels[id_])
        return found

    def joined(self, one: str, other: str) -> bool:
        """Whether two items are meant to meet: a channel and its port, two channels at one port or branch."""
        first, second = self._ends.get(one, frozenset()), self._ends.get(other, frozenset())
        return other in first or one in second or bool(first & second) or frozenset((one, other)) in self.slots_meet

    @cached_property
    def slots_meet(self) -> frozenset[frozenset[str]]:
        """Pairs of a cable slot and what it opens into, or of two that open into the same place: these are held against
        each other beside the mouth alone (``slot_mouths``)."""
        slots = {pocket.id: pocket.cable for pocket in self.document.pockets if pocket.cable is not None}
        meet = {frozenset((id_, end)) for id_, cable in slots.items() for end in (cable.start, cable.end) if end}
        for one, other in combinations(slots, 2):
            a, b = slots[one], slots[other]
            if a.start == b.start or (a.end is not None and a.end == b.end):
                meet.add(frozenset((one, other)))
        return frozenset(meet)

    @cached_property
    def _middles(self) -> dict[str, tuple[str, Point, float, float]]:
        """Kind, middle and heights of every item that is cut, and of every branch."""
        found: dict[str, tuple[str, Point, float, float]] = {}
        for prism in self.shapes.prisms:
            kind = {"thread": "port", "bore": "port", "head": "hole"}.get(prism.part, prism.part)
            known = found.get(prism.id)
            if kind != "channel" and known is None:
                found[prism.id] = (kind, _centroid(prism), prism.low, prism.high)
            elif known is not None:
                found[prism.id] = (*known[:2], min(known[2], prism.low), max(known[3], prism.high))
        for port in self.document.ports:
            found[port.id] = ("port", (port.x_mm, port.y_mm), *found[port.id][2:])
        for branch in self.document.branches:
            found[branch.id] = ("branch", (branch.x_mm, branch.y_mm), 0.0, 1.0)
        return found

    def middle_of(self, id_: str) -> Point:
        """The middle of an item that is cut, or of a branch."""
        return self._middles[id_][1]

    @cached_property
    def doubles(self) -> set[frozenset[str]]:
        """Pairs of items of one kind on one and the same place: the second is a slip, and said once."""
        names = list(self._middles)
        if len(names) < 2:
            return set()
        points = shapely.points([self._middles[name][1] for name in names])
        first, second = shapely.STRtree(points).query(points, predicate="dwithin", distance=self.limit("same-place"))
        found = set()
        for i, j in zip(first[first < second], second[first < second], strict=True):
            one, other = self._middles[names[i]], self._middles[names[j]]
            if one[0] == other[0] and one[2] < other[3] and other[2] < one[3]:
                found.add(frozenset((names[i], names[j])))
        return found

    @cached_property
    def _by_id(self) -> dict[str, list[Prism]]:
        found: dict[str, list[Prism]] = {}
        for prism in self.prisms:
            found.setdefault(prism.id, []).append(prism)
        return found

    def prisms_of(self, id_: str) -> list[Prism]:
        """All that is cut for one item."""
        return self._by_id.get(id_, [])

    @cached_property
    def _near(self) -> Near:
        """The prisms as columns, and the pairs of them that are near."""
        point = max((prism.solid.point for prism in self.prisms if isinstance(prism.solid, Barrel)), default=0.0)
        return near(self.prisms, max(NEAR_MM, self._widest + 0.1 + point))

    @property
    def polygons(self) -> NDArray[np.object_]:
        """The prisms' polygons, made valid: a contour that crosses itself must not stop the other rules."""
        return self._near.columns.polygons

    @property
    def cores(self) -> NDArray[np.object_]:
        """What each prism grows from by its radius: a point, a line, or its polygon."""
        return self._near.columns.cores

    @property
    def radii(self) -> NDArray[np.float64]:
        """How far each prism reaches beyond its core, mm."""
        return self._near.columns.radii

    @property
    def turned(self) -> NDArray[np.bool_]:
        """Which prisms are only the box around a barrel or a cone."""
        return self._near.columns.turned

    @cached_property
    def parts(self) -> NDArray[np.str_]:
        """Each prism's part, for looking up which rule a pair belongs to."""
        return np.array([prism.part for prism in self.prisms], dtype=object)

    @property
    def heights(self) -> NDArray[np.float64]:
        """Low and high of each prism: (n, 2)."""
        return self._near.columns.heights

    @cached_property
    def thin_heights(self) -> NDArray[np.float64]:
        """The same on the thinnest sheets that the tolerances allow: what is cut from an outer face moves inwards."""
        shift = np.array([self.thin_shift[face] for face in FACES])
        return np.asarray(self.heights + shift[self._near.columns.faces], dtype=float)

    @cached_property
    def thin_shift(self) -> dict[str, float]:
        """How far each face moves on the thinnest sheets, mm upwards, when the joint stays."""
        body, lid = tolerances_mm(self.document)
        below = self.document.plate.lid_face == "bottom"
        return {"joint": 0.0, "body": -body if below else body, "lid": lid if below else -lid}

    @cached_property
    def thicker_mm(self) -> float:
        """How much higher the plate's top may be than drawn, mm, on the thickest sheets: a move in height gives that
        room too."""
        return sum(tolerances_mm(self.document))

    @cached_property
    def plate(self) -> Geometry:
        """The plate's area, made valid."""
        # A copy: it is prepared for quick questions, and what requests share is left as it is.
        return shapely.force_2d(sound(self.shapes.plate_polygon))

    @cached_property
    def edge(self) -> Geometry:
        """The plate's outer edge."""
        return shapely.boundary(self.plate)

    @cached_property
    def neighbours(self) -> Neighbours:
        """Every pair of prisms of different items that is near, but for those that are meant to meet."""
        near = self._near
        alone = ~self._meant(near.first, near.second)
        first, second, plan = near.first[alone], near.second[alone], near.apart[alone]
        plan = plan - self._left_out(first, second, plan)
        plan = np.where(plan > TOUCH_MM, plan, 0.0)
        return Neighbours(
            first, second, plan, self._apart(first, second, plan), self._apart(first, second, plan, thin=True)
        )

    def _meant(self, first: Rows, second: Rows) -> NDArray[np.bool_]:
        """Which pairs of prisms are of items that are meant to meet, as ``joined`` says."""
        number: dict[str | None, int] = {}
        rows = np.array([number.setdefault(prism.id, len(number)) for prism in self.prisms], dtype=np.intp)
        for channel in self.document.channels:
            for name in (channel.start, channel.end):
                number.setdefault(name, len(number))
        # No end is a number of its own at each place, so that two channels without one do not meet.
        start, end = np.full(len(number), -1), np.full(len(number), -2)
        for channel in self.document.channels:
            k = number.get(channel.id)
            if k is not None:
                start[k] = -1 if channel.start is None else number[channel.start]
                end[k] = -2 if channel.end is None else number[channel.end]
        one, other = rows[first], rows[second]
        s1, e1, s2, e2 = start[one], end[one], start[other], end[other]
        ends = (s1 == other) | (e1 == other) | (s2 == one) | (e2 == one)
        for both in self.slots_meet:
            # What is not among the prisms has a number that no row has.
            a, b = (number.get(name, -3) for name in both)
            ends |= ((one == a) & (other == b)) | ((one == b) & (other == a))
        return np.asarray(ends | ((s1 == s2) & (s1 >= 0)) | ((e1 == e2) & (e1 >= 0)) | (s1 == e2) | (e1 == s2))

    def _left_out(self, first: Rows, second: Rows, plan: NDArray[np.float64]) -> NDArray[np.float64]:
        """What the chords of a bent channel may leave out of the wall, mm; nothing where a straight is nearest."""
        found = np.zeros(len(plan))
        channels = self.shapes.channels
        bent = np.array([prism.part == "channel" and bool(channels[prism.id].bends) for prism in self.prisms], bool)
        most = self._widest + LINE_TOLERANCE_MM
        for here, there in ((first, second), (second, first)):
            rows = np.flatnonzero((plan > 0) & (plan < most) & bent[here])
            if len(rows):
                straights = np.array([_straights(channels[self.prisms[k].id]) for k in here[rows].tolist()], object)
                lines = shapely.shortest_line(self.cores[here[rows]], self.cores[there[rows]])
                ends = shapely.get_point(lines, 0)
                found[rows] += np.where(shapely.distance(ends, straights) > 1e-9, LINE_TOLERANCE_MM, 0.0)
        return found

    @cached_property
    def _widest(self) -> float:
        """The widest wall that any rule asks for, mm."""
        return max((self.limits[rule] for rule in self.limits if rule.startswith("wall-")), default=0.0)

    def _apart(self, first: Rows, second: Rows, plan: NDArray[np.float64], thin: bool = False) -> NDArray[np.float64]:
        """Distances in space, of barrels and cones as they truly are; or on the thinnest sheets."""
        heights = self.thin_heights if thin else self.heights
        low = np.maximum(heights[first, 0], heights[second, 0])
        high = np.minimum(heights[first, 1], heights[second, 1])
        found = np.hypot(plan, np.maximum(low - high, 0.0))
        for k in np.flatnonzero((self.turned[first] | self.turned[second]) & (found < self._widest)):
            pair = [self.prisms[first[k]], self.prisms[second[k]]]
            if thin:
                pair = [moved(prism, self.thin_shift[prism.low_from]) if prism.solid else _at(prism, heights[i])
                        for prism, i in zip(pair, (first[k], second[k]), strict=True)]  # fmt: skip
            found[k] = _distances.of((self.prisms[first[k]], self.prisms[second[k]]), (
                pair[0].low, pair[0].high, pair[1].low, pair[1].high), partial(Prism.distance, *pair))  # fmt: skip
        return np.asarray(found, dtype=float)


#: Of barrels and cones, in space, by the two and their heights.
_distances: Remembered[float] = Remembered()
_centroids: Remembered[Point] = Remembered()


def _centroid(prism: Prism) -> Point:
    def make() -> Point:
        middle = shapely.centroid(prism.polygon if prism.core is None else prism.core)
        return (middle.x, middle.y)

    return _centroids.of((prism,), None, make)


def _at(prism: Prism, heights: NDArray[np.float64]) -> Prism:
    return replace(prism, low=float(heights[0]), high=float(heights[1]))


_known_straights: Remembered[Geometry] = Remembered()


def _straights(channel: ChannelShape) -> Geometry:
    """The straight runs of a bent channel's centreline."""

    def make() -> Geometry:
        return shapely.MultiLineString([(run.start, run.end) for run in channel.path.segments if run.straight])

    return _known_straights.of((channel,), None, make)
