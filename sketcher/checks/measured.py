"""Does it fit what was measured: readings that disagree, and gaps that hold only if the survey is exact."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document import DocumentError
from sketcher.document.floor import Surveyed
from sketcher.findings import PRACTICE, Finding, Point, Rule, mm
from sketcher.survey import adjusted as survey
from sketcher.survey.adjusted import SurveyResult

BAARDA = "Baarda, A Testing Procedure for Use in Geodetic Networks, 1968"
#: Farther than this many millimetres no survey is uncertain.
FAR_MM = 30.0


@rules(
    Rule("survey-unusable", "fits", "The survey's readings can be adjusted", None, "",
         "Readings that fit no floor at all say nothing about this one.", PRACTICE),
    Rule("survey-suspect", "fits", "Every reading agrees with the others", None, "",
         "One wrong reading moves the whole floor, and the plate with it.", BAARDA),
    Rule("survey-loose", "fits", "Every point that is drawn through is held by readings", None, "",
         "A place that no reading holds is a guess.", PRACTICE),
    Rule("survey-chance", "fits", "A gap holds for all that the survey's spread allows", 5.0, "%",
         "A gap that holds only if every reading was exact fails in the case now and then.",
         "normal spread about the adjusted place; the limit is common practice, no source"),
    slow=True,
)  # fmt: skip
def measured(scene: Scene) -> Iterator[Finding]:
    """Suspect readings, loose points, and gaps between the plate and surveyed things that may not hold."""
    document = scene.document
    if not document.survey.readings:
        return
    try:
        result = survey.adjust(document)
    except DocumentError as error:
        yield Finding("survey-unusable", "error", (), message=f"The survey cannot be adjusted: {error}.",
                      remedy="Mend that reading, or set it aside.")  # fmt: skip
        return
    for checked in result.adjustment.suspects:
        id_ = checked.observation.id
        likely = [f"{p.value:g} {p.unit} ({p.why})" for p in result.proposals.get(id_, ())]
        yield Finding(
            rule="survey-suspect",
            level="warning",
            items=(id_,),
            value=abs(checked.residual),
            unit="mm",
            message=f"The reading {id_} does not agree with the others by {mm(abs(checked.residual))}.",
            remedy=f"Read it again; it was probably {likely[0]}." if likely else "Read it again, or set it aside.",
        )
    for id_ in sorted({id_ for outline in document.survey.outlines for id_ in _points(outline)}):
        if result.adjustment.point(id_).loose:
            yield Finding("survey-loose", "warning", (id_,), message=f"No reading holds the point {id_} in place.",
                          remedy="The survey sheet says which reading would hold it.")  # fmt: skip
    for outline in document.survey.outlines:
        yield from _chance(scene, outline, result)


def _points(outline: Surveyed) -> list[str]:
    return [*outline.corners, *([outline.centre] if outline.centre else [])]


def _chance(scene: Scene, outline: Surveyed, result: SurveyResult) -> Iterator[Finding]:
    if any(result.adjustment.point(id_).loose for id_ in _points(outline)):
        return
    gap = _gap(scene, outline)
    if gap is None:
        return
    value, least, line = gap
    if value < least or value > FAR_MM or value < 1e-6:
        return  # a gap that is too small as drawn is another rule's finding
    direction = ((line[1][0] - line[0][0]) / value, (line[1][1] - line[0][1]) / value)
    sigma = survey.sigma_of_gap(result, tuple(_points(outline)), direction)
    chance = 100 * survey.chance_below(value, least, sigma)
    limit = scene.limit("survey-chance")
    if chance <= limit:
        return
    yield Finding(
        rule="survey-chance",
        level="warning",
        items=(outline.id,),
        value=chance,
        limit=limit,
        unit="%",
        at=line[0],
        line=line,
        message=f"The plate clears {outline.id} by {mm(value)} only if the survey is exact: with its spread of "
        f"{mm(sigma)} there, the chance that it does not is {chance:.0f} %.",
        remedy=f"Leave {mm(least + 2 * sigma)}, or measure {outline.id} with a finer tool.",
    )


def _gap(scene: Scene, outline: Surveyed) -> tuple[float, float, tuple[Point, Point]] | None:
    """The gap between plate and surveyed thing, the least it may be, and its two ends; none when they never meet."""
    shapes, plate = scene.shapes, scene.document.plate
    if outline.what == "floor":
        walls, least = shapely.boundary(shapes.floor_polygon), 0.0
    else:
        obstacle = shapes.obstacles.get(outline.id)
        if obstacle is None or obstacle.high <= plate.z_mm or obstacle.low >= plate.z_mm + shapes.thickness:
            return None
        walls, least = shapely.boundary(obstacle.polygon), scene.limit("plate-over-obstacle")
    start, end = shapely.shortest_line(scene.edge, walls).coords
    line = ((start[0], start[1]), (end[0], end[1]))
    return float(shapely.distance(scene.edge, walls)), least, line
