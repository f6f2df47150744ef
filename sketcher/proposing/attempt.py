"""One attempt: every open connection laid in one style with one section, and written into the document."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.document.joined import joined_parts, open_connections
from sketcher.geometry import Shapes, build
from sketcher.geometry.path import Point
from sketcher.proposing import lattice as lattices
from sketcher.proposing.courses import Course, Style, course_or_way, cut_off, straightened
from sketcher.proposing.lattice import Floats, Lattice
from sketcher.proposing.looks import Axis, Look, Tidy, best_axis
from sketcher.proposing.negotiation import Ground, Laid, Net, Prices, negotiate, places_of
from sketcher.proposing.nesting import FreeOf, concentric, even_cuts, evened
from sketcher.proposing.nets import MEETING_REACH, net_of, roots_of
from sketcher.proposing.rule_distances import MARGIN_MM, Clearances, Section
from sketcher.proposing.tidiness import PAIR_WIDTHS
from sketcher.proposing.writing import NewChannel, with_channels

#: About so many nodes make a lattice, whatever the plate's size; its pitch stays between these, mm.
_NODES = 7_000
_FINEST_MM, _COARSEST_MM = 2.0, 8.0
#: A square lattice has lines on all sides of so many obstacles, the largest, and clear of them by so many tenths.
_HARD_BY, _CLEAR = 8, 0.2
#: It has lines for so many channels side by side in a gap that is narrow.
_SIDE_BY_SIDE = 4


@dataclass(frozen=True)
class Attempt:
    """What came of one attempt: the document with the channels, whether all found their way, and which did not.

    ``crowded_mm``: length along which one row of lid screws would have to hold two channels.
    """

    document: Document
    complete: bool
    missing: tuple[tuple[str, ...], ...]
    crowded_mm: float = 0.0


class Table:
    """One plate with one section on one kind of lattice: all that attempts with other prices and seeds share."""

    def __init__(
        self,
        document: Document,
        limits: dict[str, float],
        section: Section,
        style: Style,
        look: Look | None = None,
        axis: Axis | None = None,
        drawn: Sequence[Sequence[Point]] = (),
    ) -> None:
        self.document, self.section, self.style, self.look = document, section, style, look
        self.shapes: Shapes = build(document)
        self.limits = limits
        self.tight = Clearances(document, self.shapes, limits, section, roomy=False)
        self.roomy = Clearances(document, self.shapes, limits, section, roomy=True)
        self.roots = roots_of(document, self.shapes)
        self.nets = list(self._nets())
        self.tidy = self._tidy(look, axis, drawn) if look is not None else None
        self.lattice = self._lattice()
        self.ground = Ground(self.lattice, self.tight, self.roomy)

    def _tidy(self, look: Look, axis: Axis | None, drawn: Sequence[Sequence[Point]]) -> Tidy:
        places = [self.roots[id_] for net in self.nets for id_ in net.ports]
        about = axis or best_axis(self.shapes.plate_polygon, places)
        return Tidy(look, self.tight, self.roomy, places, about, drawn)

    def _nets(self) -> Iterator[Net]:
        """What is to be joined, with the channels that join some of it already: a new one may end where they do."""
        whole = {id_: tuple(part) for part in joined_parts(self.document) for id_ in part}
        for connection in open_connections(self.document):
            parts = tuple((part[0], *(id_ for id_ in whole[part[0]] if id_ != part[0])) for part in connection)
            yield net_of(parts, self.section.width_mm, self.shapes.channels.values(), self.roots, self.tight)

    def _lattice(self) -> Lattice:
        ends = {id_: self.roots[id_] for net in self.nets for id_ in net.ends}
        plate = shapely.make_valid(self.shapes.plate_polygon)
        pitch = min(max(math.ceil(2 * math.sqrt(plate.area / _NODES)) / 2, _FINEST_MM), _COARSEST_MM)
        if self.style == "free":
            return lattices.even(self.tight.inside, pitch, ends)
        left, front, right, rear = plate.bounds
        xs = [*np.arange(math.ceil(left), right, round(pitch)), *(x for x, _ in ends.values())]
        ys = [*np.arange(math.ceil(front), rear, round(pitch)), *(y for _, y in ends.values())]
        # A way along x and y is shortest hard by what it goes round: the lattice has lines there.
        own = {id_ for net in self.nets for id_ in net.own}
        grown = zip(self.tight.obstacles, self.tight.grown, strict=True)
        largest = sorted((area for o, area in grown if o.id not in own), key=lambda area: -area.area)[:_HARD_BY]
        if len(self.nets) > 1 and not self.tight.inside.is_empty:
            boxes = [area.bounds for area in largest]
            beside = lattices.lines_in_gaps(
                boxes, self.tight.inside.bounds, self.tight.side_by_side_mm, min(len(self.nets), _SIDE_BY_SIDE)
            )
            xs, ys = [*xs, *beside[0]], [*ys, *beside[1]]
        for area in largest:
            west, south, east, north = area.bounds
            xs += [math.floor(10 * west - _CLEAR) / 10, math.ceil(10 * east + _CLEAR) / 10]
            ys += [math.floor(10 * south - _CLEAR) / 10, math.ceil(10 * north + _CLEAR) / 10]
        if self.tidy is not None:
            xs, ys = self.tidy.lines(xs, ys)
        return lattices.square(self.tight.inside, xs, ys, ends)

    def attempt(
        self,
        prices: Prices,
        seed: int,
        stop: Callable[[], bool] = lambda: False,
        rounds: int = 30,
        shunned: Mapping[int, Floats] | None = None,
    ) -> Attempt:
        """All nets laid, tidied and written; ``shunned`` as for ``negotiate``."""
        wall = self.limits["wall-channel-channel"] + 2 * MARGIN_MM
        tidy = self.tidy
        factors = None if tidy is None else (lambda n, laid: tidy.factors(self.lattice, n, laid))
        laid, _ = negotiate(
            self.ground,
            self.nets,
            wall,
            prices,
            seed=seed,
            rounds=rounds,
            stop=stop,
            factors=factors,
            apart_mm=self.roomy.two_rows_mm,
            shunned=shunned,
        )
        new, meetings = self._written(laid)
        missing = tuple(
            tuple(id_ for part in parts for id_ in part)
            for one, parts in zip(laid, open_connections(self.document), strict=True)
            if one.missing
        )
        document = with_channels(self.document, new, meetings) if new else self.document
        return Attempt(document, not missing, missing, self._crowded_mm(laid, new))

    def _crowded_mm(self, laid: Sequence[Laid], new: Sequence[NewChannel]) -> float:
        reach = self.roomy.two_rows_mm
        if not reach:
            return 0.0
        numbers = [n for n, one in enumerate(laid) for _ in one.legs]
        lines = [
            shapely.MultiLineString([c.course.line() for c, m in zip(new, numbers, strict=True) if m == n])
            for n in sorted(set(numbers))
        ]
        return sum(
            float(shapely.intersection(one, shapely.buffer(other, reach)).length)
            for one in lines
            for other in lines
            if one is not other
        )

    def _written(self, laid: Sequence[Laid]) -> tuple[list[NewChannel], dict[str, Point]]:
        """Courses of all legs; each keeps clear of the courses before it and of the ways still to be tidied."""
        meetings: dict[str, Point] = {}
        legs: list[tuple[int, str, str, list[Point]]] = []
        for n, one in enumerate(laid):
            meetings.update(places_of(self.lattice, one))
            legs += [(n, leg.start, leg.end, self.lattice.points(leg.nodes)) for leg in one.legs]
        ways = [straightened(points) for _, _, _, points in legs]
        around = self._ground_of(legs, meetings)
        least = self.tight.least_radius_mm
        reach = PAIR_WIDTHS * self.section.width_mm
        if self.look is not None and self.style != "free":
            ways = evened(ways, around, reach)
            legs = [(n, start, end, way) for (n, start, end, _), way in zip(legs, ways, strict=True)]
            around = self._ground_of(legs, meetings)
        cuts = even_cuts(ways, around, least, reach) if self.style == "diagonal" else [{} for _ in ways]
        lines: list[BaseGeometry] = [LineString(cut_off(way, told)) for way, told in zip(ways, cuts, strict=True)]
        courses: list[Course] = []
        for k, way in enumerate(ways):
            free = self._free(legs, lines, k, meetings)
            tidy = course_or_way(way, free, self.style, least, cuts[k])
            lines[k] = tidy.line()
            courses.append(tidy)
        courses = concentric(courses, around, max(least, self.section.width_mm), reach)
        return [
            NewChannel(one, self.section, start, end) for one, (_, start, end, _) in zip(courses, legs, strict=True)
        ], meetings

    def _ground_of(self, legs: Sequence[tuple[int, str, str, list[Point]]], meetings: Mapping[str, Point]) -> FreeOf:
        """Where one leg may run, given the courses of all; where it runs already it may."""

        def free_of(k: int, beside: Collection[int], courses: Sequence[Course]) -> BaseGeometry:
            lines = [course.line() for course in courses]
            return shapely.union(self._free(legs, lines, k, meetings, beside), shapely.buffer(lines[k], 0.01))

        return free_of

    def _free(
        self,
        legs: Sequence[tuple[int, str, str, list[Point]]],
        lines: Sequence[BaseGeometry],
        k: int,
        meetings: Mapping[str, Point],
        beside: Collection[int] = (),
    ) -> BaseGeometry:
        """Where leg ``k`` may run: clear of everything, with room for screws but where its way has none; some of the
        other legs may be left out."""
        n, start, end, points = legs[k]
        net = self.nets[n]
        own = frozenset((start, end))
        way = LineString(points)
        touched = own.union(net.channels)
        tight, roomy = self.tight.free(touched, net.beside), self.roomy.free(touched, net.beside)
        narrow = shapely.difference(way, roomy)
        near = shapely.buffer(narrow, 3 * self.section.width_mm)
        free = shapely.union_all([roomy, shapely.intersection(tight, near), shapely.buffer(way, 0.01)])
        reach = self.tight.between_channels_mm(self.section.width_mm)
        taken = []
        for j, (m, first, last, _) in enumerate(legs):
            if j == k or j in beside:
                continue
            area: BaseGeometry = shapely.buffer(lines[j], reach, quad_segs=16)
            if m != n and self.roomy.two_rows_mm:
                # As far from the others as the way is: a row of screws for each, where it found room for that.
                wide = shapely.buffer(lines[j], self.roomy.two_rows_mm)
                near = shapely.buffer(shapely.intersection(way, wide), 3 * self.section.width_mm)
                area = shapely.union(area, shapely.difference(wide, near))
            if m == n:
                shared = own & {first, last}
                places = [meetings.get(name) or self.roots[name] for name in shared]
                around = MEETING_REACH * reach
                for place in places:
                    area = shapely.difference(area, shapely.Point(place).buffer(around))
            taken.append(area)
        return shapely.difference(free, shapely.union_all(taken)) if taken else free
