"""Does it fit what was measured: floor, obstacles and openings stand in the document where the survey puts them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document import Document, DocumentError
from sketcher.document.floor import Floor, Obstacle, Opening, Surveyed
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Finding, Point, Rule, mm
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.rounds import around
from sketcher.geometry.shapes import LINE_TOLERANCE_MM, Shapes
from sketcher.survey import adjusted as survey
from sketcher.survey.adjusted import SurveyResult


@rules(
    Rule("survey-not-drawn", "fits", "Floor, obstacles and openings stand where the survey puts them", 0.5, "mm",
         "What was read, or changed by hand, after the floor was drawn is not in the drawing that the plate is made "
         "for.", PRACTICE),
    reads=(),
)  # fmt: skip
def as_read(scene: Scene) -> Iterator[Finding]:
    """What the survey would draw now against what is drawn."""
    limit = scene.limit("survey-not-drawn")
    for place in _places(scene) if scene.document.survey.readings else ():
        surveyed = place.surveyed
        if place.off is None:
            yield Finding(
                "survey-not-drawn", "note", (surveyed.id,), f"The survey has the {surveyed.what} {surveyed.id}; it is "
                "not drawn yet.", "Choose “Draw the floor from these readings” in the step Measure.",
            )  # fmt: skip
        elif place.off[0] > limit:
            value, at, what = place.off
            name = "The floor" if surveyed.what == "floor" else surveyed.id
            yield Finding(
                "survey-not-drawn", "warning", (surveyed.id,), f"{name} {what} that is {mm(value)} off what the survey "
                f"says; {mm(limit)} is the maximum." if what.endswith("height") else f"{name} {what} {mm(value)} off "
                f"where the survey puts it; {mm(limit)} is the maximum.",
                "Choose “Draw the floor from these readings” in the step Measure; or take its outline out of the "
                "survey when it was changed by hand on purpose.", value, limit, "mm", at,
            )  # fmt: skip


@dataclass(frozen=True)
class _Place:
    """How far one is off, mm, where, and what of it; none where it is not drawn at all."""

    surveyed: Surveyed
    off: tuple[float, Point, str] | None


_known: Remembered[tuple[_Place, ...]] = Remembered(most=8)


def _places(scene: Scene) -> tuple[_Place, ...]:
    document = scene.document
    return _known.of((document.floor, document.survey), None, lambda: tuple(_compared(document, scene.shapes)))


def _compared(document: Document, drawn: Shapes) -> Iterator[_Place]:
    try:
        result = survey.adjust(document)
    except DocumentError:
        return  # the survey's own rules say why
    for surveyed in document.survey.outlines:
        one = document.model_copy(update={"survey": document.survey.model_copy(update={"outlines": (surveyed,)})})
        try:
            floor = survey.apply(one, result).floor
        except DocumentError:
            continue  # not all of it was read yet
        off, typed = _off(surveyed, drawn, floor), _typed_height(surveyed, result)
        yield _Place(surveyed, off if off is None or typed is None else max(off, typed))


def _typed_height(surveyed: Surveyed, result: SurveyResult) -> tuple[float, Point, str] | None:
    """A height that was typed in for an obstacle, against those that were read at its corners."""
    names = surveyed.corners if surveyed.centre is None else (surveyed.centre,)
    read = [name for name in names if name in result.heights]
    if surveyed.what != "obstacle" or surveyed.height_mm is None or not read:
        return None
    highest = max(read, key=lambda name: result.heights[name].value_mm)
    point = result.adjustment.point(highest)
    off = abs(result.heights[highest].value_mm - surveyed.height_mm)
    return off, (point.x, point.y), "has a typed height"


def _off(surveyed: Surveyed, drawn: Shapes, now: Floor) -> tuple[float, Point, str] | None:
    if surveyed.what == "floor":
        return (*_apart(drawn.floor_polygon, _area(now)), "is drawn")
    if surveyed.what == "opening":
        old = drawn.openings.get(surveyed.id)
        new = next(item for item in now.openings if item.id == surveyed.id)
        return None if old is None else (*_apart(old.polygon, _area(new)), "is drawn")
    before = drawn.obstacles.get(surveyed.id)
    after = next(item for item in now.obstacles if item.id == surveyed.id)
    if before is None:
        return None
    value, at = _apart(before.polygon, _area(after))
    high = abs(before.high - after.height_mm)
    return (high, at, "is drawn with a height") if high > value else (value, at, "is drawn")


def _area(item: Floor | Obstacle | Opening) -> shapely.Geometry:
    return around(contour(item.outline), LINE_TOLERANCE_MM)


def _apart(one: shapely.Geometry, other: shapely.Geometry) -> tuple[float, Point]:
    """The greatest distance between two outlines, mm, and the corner where it is."""
    one, other = (shapely.boundary(sound(area)) for area in (one, other))
    rows = [
        (float(shapely.distance(shapely.Point(x, y), edge)), (float(x), float(y)))
        for line, edge in ((one, other), (other, one))
        for x, y in shapely.get_coordinates(line)
    ]
    return max(rows)
