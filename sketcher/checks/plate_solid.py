"""The plate as a solid that boards, devices and obstacles keep out of: without its cutouts, and without its pockets.

A pocket is a place to stand in: a riser's foot in the top face, a standoff under the bottom one. Where a body is near
one, the plate is taken as slabs, each without the pockets that reach through it; everywhere else it is one prism.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import shapely
from shapely import Geometry

from sketcher.document.remembered import Remembered
from sketcher.geometry.bodies import Body, Gap, gap
from sketcher.geometry.levels import above_floor_mm
from sketcher.geometry.shapes import Shapes


def sound(polygon: Geometry) -> Geometry:
    """A polygon that is valid."""
    return _sound.of((polygon,), None, lambda: polygon if shapely.is_valid(polygon) else shapely.make_valid(polygon))


_sound: Remembered[Geometry] = Remembered()


def whole_plate(shapes: Shapes, plate: Geometry) -> Body:
    """The plate without its cutouts, as one prism; its pockets are not taken out. ``plate`` is its area, made valid."""
    low, high = (above_floor_mm(shapes.document, level) for level in (0.0, shapes.thickness))
    holes = [area.polygon for area in shapes.cutouts.values()]

    def make() -> Body:
        cut = shapely.union_all([sound(hole) for hole in holes]) if holes else None
        return Body("", "plate", plate if cut is None else shapely.difference(plate, cut), low, high)

    return _plates.of((shapes.plate_polygon, *holes), (low, high), make) if holes else make()


_plates: Remembered[Body] = Remembered(most=32)


#: Pockets farther from an obstacle than this in plan change nothing that is asked of it, mm.
_AROUND_MM = 30.0


class PlateSolid:
    """The plate to measure a body's distance to."""

    def __init__(self, shapes: Shapes, whole: Body) -> None:
        self.whole = whole
        document = shapes.document
        self._pockets = [
            (sound(a.polygon), above_floor_mm(document, a.low), above_floor_mm(document, a.high))
            for a in shapes.pockets.values()
        ]
        self._tree = shapely.STRtree([area for area, _, _ in self._pockets])

    def gap(self, body: Body) -> Gap:
        """What is between the plate and a body: mm, negative by how far the body must move to come clear."""
        between = gap(self.whole, body)
        near = self._near(body, max(between.value, 0.0))
        if not near:
            return between
        slabs = [slab for slab in self._slabs(near) if not shapely.is_empty(slab.area)]
        gaps = [(gap(slab, body), slab) for slab in slabs]
        best = min((found for found, _ in gaps), key=lambda found: found.value)
        if best.value >= 0:
            return best
        # Out of the pocket's floor is less far than out of the plate; what meets no slab in plan is not in the way.
        over = [slab for slab in slabs if shapely.intersects(slab.area, body.area)]
        up = max((slab.high - body.low for slab in over if slab.high > body.low), default=math.inf)
        down = max((body.high - slab.low for slab in over if slab.low < body.high), default=math.inf)
        ways = [(-between.value, between.away), (up, (0.0, 0.0, 1.0)), (down, (0.0, 0.0, -1.0))]
        need, away = min(ways, key=lambda way: way[0])
        return Gap(-need, best.line, away)

    def clearance(self, obstacle: Body) -> tuple[Gap, bool]:
        """What is between the plate and what stands on the floor, and whether that is over or under the plate.

        Under it the way out is up or down: sideways the plate is in its way too.
        """
        found: tuple[Gap, bool] | None = None
        for slab in self._slabs(self._near(obstacle, _AROUND_MM)):
            if shapely.is_empty(slab.area):
                continue
            between, over = gap(slab, obstacle), bool(shapely.intersects(slab.area, obstacle.area))
            if over:
                between = replace(between, value=max(slab.low - obstacle.high, obstacle.low - slab.high))
            if found is None or between.value < found[0].value:
                found = between, over
        assert found is not None
        return found

    def _near(self, body: Body, within: float) -> list[tuple[Geometry, float, float]]:
        """The pockets that a body is over or under, or as near to in plan as it is to the plate."""
        if not self._pockets:
            return []
        found = self._tree.query(body.area, predicate="dwithin", distance=within + 1e-6)
        return [self._pockets[k] for k in found.tolist()]

    def _slabs(self, pockets: list[tuple[Geometry, float, float]]) -> list[Body]:
        low, high = self.whole.low, self.whole.high
        levels = {low, high} | {min(max(z, low), high) for _, a, b in pockets for z in (a, b)}
        ends = sorted(levels)
        found = []
        for under, over in itertools.pairwise(ends):
            gone = [area for area, a, b in pockets if a < over - 1e-9 and b > under + 1e-9]
            area = shapely.difference(self.whole.area, shapely.union_all(gone)) if gone else self.whole.area
            found.append(Body("", "plate", area, under, over))
        return found
