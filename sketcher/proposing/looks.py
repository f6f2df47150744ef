"""What makes courses look alike: parallel at an even spacing, along the edges, mirrored about a line, or as drawn.

A look is a discount on the lattice: places that agree with it are cheaper, so a net takes them where they cost it
little. For that the lattice gets lines where such courses run: at even spacings from the ports, along the edges,
mirrored about the line, or through the corners of what was drawn.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.geometry.path import Point
from sketcher.proposing.lattice import Floats, Ints, Lattice
from sketcher.proposing.negotiation import Laid
from sketcher.proposing.rule_distances import Clearances

Look = Literal["parallel", "edges", "symmetry", "drawn"]
LOOKS: tuple[Look, ...] = ("parallel", "edges", "symmetry", "drawn")

#: What a length costs that agrees with the look, against one that does not. Common practice, no source.
_AGREES: dict[Look, float] = {"parallel": 0.5, "edges": 0.35, "symmetry": 0.4, "drawn": 0.1}
#: Beside a course along an edge, where the edge itself is taken.
_BESIDE = 0.45
#: So near its line a course runs along it, mm.
_ON_MM = 0.06
#: Neighbours to either side of a port's own line that the lattice has lines for.
_NEIGHBOURS = 2
#: So many equal gaps between ports make a row, and no wider than so many channels. Common practice, no source.
_ROW, _ROW_WIDTHS = 2, 4.0
#: Beyond the walls a course along an edge keeps so much, mm, so that it is on tenths.
_TENTH_MM = 0.1


@dataclass(frozen=True)
class Axis:
    """A line to mirror about: at this x from front to rear, or at this y from left to right, mm."""

    along: Literal["x", "y"]
    at_mm: float

    def mirrored(self, place: Point) -> Point:
        """A place on the other side."""
        x, y = place
        return (2 * self.at_mm - x, y) if self.along == "x" else (x, 2 * self.at_mm - y)


def spacing_mm(tight: Clearances, ends: Sequence[Point]) -> float:
    """From centreline to centreline of parallel channels, mm: the ports' own where they stand in rows with room for it,
    else what the wall between channels asks, on whole millimetres."""
    least = float(math.ceil(tight.between_channels_mm(tight.section.width_mm) + 2 * _TENTH_MM))
    gaps: Counter[float] = Counter()
    for axis in (0, 1):
        rows = sorted({round(end[axis], 1) for end in ends})
        gaps.update(
            round(b - a, 1) for a, b in pairwise(rows) if least <= b - a <= _ROW_WIDTHS * tight.section.width_mm
        )
    usual = max(gaps, key=lambda gap: (gaps[gap], -gap), default=least)
    return usual if gaps[usual] >= _ROW else least


def best_axis(plate: BaseGeometry, ends: Sequence[Point]) -> Axis:
    """The line about which the ends are most nearly mirrored: through the plate's middle, or halfway between two."""
    left, front, right, rear = plate.bounds
    places = np.array(ends)

    def candidates() -> Iterator[Axis]:
        yield Axis("x", round((left + right) / 2, 3))
        yield Axis("y", round((front + rear) / 2, 3))
        for k, name in ((0, "x"), (1, "y")):
            halves = (places[:, None, k] + places[None, :, k])[np.triu_indices(len(places), 1)] / 2
            for at in sorted({round(float(half), 3) for half in halves})[:60]:
                yield Axis("x" if name == "x" else "y", at)

    def missed(axis: Axis) -> float:
        images = np.array([axis.mirrored((float(x), float(y))) for x, y in places])
        apart = np.hypot(*(images[:, None, :] - places[None, :, :]).transpose(2, 0, 1))
        # A line with all ports on it mirrors each onto itself, which nobody sees.
        own = np.hypot(*(images - places).T) < _ON_MM
        return float(np.minimum(apart.min(axis=1), 60.0).sum() + 60.0 * own.sum())

    return min(candidates(), key=missed)


class Tidy:
    """One look on one plate: the lines that its lattice gets, and the discount for each net."""

    def __init__(
        self,
        look: Look,
        tight: Clearances,
        roomy: Clearances,
        ends: Sequence[Point],
        axis: Axis,
        drawn: Sequence[Sequence[Point]] = (),
    ) -> None:
        self.look, self.axis, self.ends, self.drawn = look, axis, ends, drawn
        # Along an edge as near to each other as walls allow, or a row of lid screws for each; else as ports stand.
        apart = math.ceil(roomy.two_rows_mm + 2 * _TENTH_MM) if roomy.two_rows_mm else 0.0
        self.spacing = max(spacing_mm(tight, ()), float(apart)) if look == "edges" else spacing_mm(tight, ends)
        self._along = roomy if not roomy.inside.is_empty else tight
        self._bands: dict[int, tuple[Laid, Ints]] = {}
        self._mirror: Ints | None = None
        self._static: Floats | None = None
        self._lines: BaseGeometry | None = None

    def lines(self, xs: Sequence[float], ys: Sequence[float]) -> tuple[list[float], list[float]]:
        """The lattice's lines with those that the look needs."""
        found = [*map(float, xs)], [*map(float, ys)]
        if self.look == "parallel":
            steps = [k * self.spacing for k in range(-_NEIGHBOURS, _NEIGHBOURS + 1) if k]
            for axis in (0, 1):
                found[axis].extend(end[axis] + step for end in self.ends for step in steps)
        elif self.look == "edges":
            for area, outward in ((self._along.inside, -1.0), *((grown, 1.0) for grown in self._along.grown)):
                if not area.is_empty:
                    left, front, right, rear = area.bounds
                    # Beside the one along the edge the next ones run at one spacing.
                    for step in (outward * k * self.spacing for k in range(_NEIGHBOURS + 1)):
                        found[0].extend([_out(left, -outward) - step, _out(right, outward) + step])
                        found[1].extend([_out(front, -outward) - step, _out(rear, outward) + step])
        elif self.look == "drawn":
            for corners in self.drawn:
                found[0].extend(x for x, _ in corners)
                found[1].extend(y for _, y in corners)
        else:
            lines = found[0 if self.axis.along == "x" else 1]
            lines += [self.axis.at_mm, *(2 * self.axis.at_mm - at for at in [*lines])]
        return found

    def factors(self, lattice: Lattice, n: int, laid: Sequence[Laid]) -> Floats:
        """By what the length of each edge counts for one net, the others as they lie."""
        if self._static is None:
            self._static = np.ones(len(lattice.tails))
            if self.look in ("edges", "drawn"):
                self._static[self._at_borders(lattice)] = _AGREES[self.look]
        if self.look == "drawn":
            return self._static
        found = self._static.copy()
        for m, other in enumerate(laid):
            if m != n and other.legs:
                near = self._agreeing(lattice, m, other)
                found[near] = np.minimum(found[near], _BESIDE if self.look == "edges" else _AGREES[self.look])
        return found

    def _at_borders(self, lattice: Lattice) -> Ints:
        """Edges along what closes the ground, the plate's edge or an obstacle's walls; or along what was drawn."""
        borders = self._borders()
        if borders.is_empty:
            return np.array([], dtype=np.intp)
        shapely.prepare(borders)
        near = 2 * _TENTH_MM + _ON_MM
        ends = np.asarray(shapely.dwithin(borders, shapely.points(lattice.nodes), near))
        middles = (lattice.nodes[lattice.tails] + lattice.nodes[lattice.heads]) / 2
        along = ends[lattice.tails] & ends[lattice.heads]
        along[along] = shapely.dwithin(borders, shapely.points(middles[along]), near)
        return np.flatnonzero(along)

    def _borders(self) -> BaseGeometry:
        """The lines that courses are to follow: of what was drawn, or of the open ground."""
        if self._lines is None:
            if self.look == "drawn":
                lines: list[BaseGeometry] = [LineString(corners) for corners in self.drawn if len(corners) > 1]
            else:
                areas = [self._along.inside, *self._along.grown]
                lines = [shapely.boundary(area) for area in areas if not area.is_empty]
            self._lines = shapely.union_all(lines)
        return self._lines

    def _agreeing(self, lattice: Lattice, m: int, other: Laid) -> Ints:
        """Edges that agree with another net as it lies; worked out once for each way that it lies."""
        known = self._bands.get(m)
        if known is None or known[0] is not other:
            self._bands[m] = known = (other, self._agreed(lattice, other))
        return known[1]

    def _agreed(self, lattice: Lattice, other: Laid) -> Ints:
        if self.look == "symmetry":
            edges = np.concatenate([lattice.edge_between(leg.nodes) for leg in other.legs])
            images = self._images(lattice)[edges]
            images = images[images >= 0]
            # Either direction of the mirrored place will do.
            back = {(int(a), int(b)): k for k, (a, b) in enumerate(zip(lattice.tails, lattice.heads, strict=True))}
            turned = [back[int(lattice.heads[k]), int(lattice.tails[k])] for k in images]
            return np.unique(np.concatenate([images, np.array(turned, dtype=np.intp)]))
        lines: BaseGeometry = shapely.MultiLineString([LineString(lattice.points(leg.nodes)) for leg in other.legs])
        if self.look == "edges":
            # Only what of it follows an edge itself: the next one follows the edge, too.
            lines = shapely.intersection(lines, shapely.buffer(self._borders(), 2 * _TENTH_MM + _ON_MM))
            if lines.is_empty:
                return np.array([], dtype=np.intp)
        outer = shapely.buffer(lines, self.spacing + _ON_MM, quad_segs=8)
        band = shapely.difference(outer, shapely.buffer(lines, self.spacing - _ON_MM, quad_segs=8))
        near = lattice.touching(band)
        shapely.prepare(band)
        return near[shapely.covers(band, lattice.lines[near])]

    def _images(self, lattice: Lattice) -> Ints:
        """For each edge the one on the other side of the line; −1 where there is none."""
        if self._mirror is None:
            number = {(round(x, 3), round(y, 3)): k for k, (x, y) in enumerate(lattice.nodes.tolist())}
            node = np.full(len(lattice.nodes), -1, dtype=np.intp)
            for (x, y), k in number.items():
                ix, iy = self.axis.mirrored((x, y))
                node[k] = number.get((round(ix, 3), round(iy, 3)), -1)
            by_ends = {(int(a), int(b)): k for k, (a, b) in enumerate(zip(lattice.tails, lattice.heads, strict=True))}
            self._mirror = np.array(
                [
                    by_ends.get((int(node[a]), int(node[b])), -1)
                    for a, b in zip(lattice.tails, lattice.heads, strict=True)
                ],
                dtype=np.intp,
            )
        return self._mirror


def _out(at: float, way: float) -> float:
    """A coordinate on tenths, a tenth to one side at most."""
    return math.ceil(at / _TENTH_MM) * _TENTH_MM if way > 0 else math.floor(at / _TENTH_MM) * _TENTH_MM
