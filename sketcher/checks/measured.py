"""Does it fit what was measured: readings that disagree, and gaps that hold only if the survey is exact."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document import DocumentError
from sketcher.document.floor import Surveyed
from sketcher.findings import PRACTICE, Finding, Point, Rule, mm
from sketcher.geometry.levels import above_floor_mm
from sketcher.survey import adjusted as survey
from sketcher.survey import wording as words
from sketcher.survey.adjusted import SurveyResult
from sketcher.survey.adjustment import Adjustment
from sketcher.survey.readings_network import Observation

BAARDA = "Baarda, A Testing Procedure for Use in Geodetic Networks, 1968"
#: Farther than this many millimetres no survey is uncertain.
FAR_MM = 30.0


@rules(
    Rule("survey-unusable", "fits", "The survey's readings can be adjusted", None, "",
         "Readings that fit no floor at all say nothing about this one.", PRACTICE),
    Rule("survey-suspect", "fits", "Every reading agrees with the others", None, "",
         "One wrong reading moves the whole floor, and the plate with it.", BAARDA),
    Rule("survey-mirrored", "fits", "Every point that is drawn through has one place", None, "",
         "Readings that fit two places leave the choice to chance.", PRACTICE),
    Rule("survey-shape", "fits", "The measured floor has the size and shape of a case", None, "",
         "A survey in the wrong unit agrees with itself.", PRACTICE),
    Rule("survey-loose", "fits", "Every point that is drawn through is held by readings", None, "",
         "A place that no reading holds is a guess.", PRACTICE),
    Rule("survey-chance", "fits", "A gap holds for all that the survey's spread allows", 5.0, "%",
         "A gap that holds only if every reading was exact fails in the case now and then.",
         "normal spread about the adjusted place; the limit is common practice, no source"),
    reads=(),
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
                      remedy="Correct that reading, or exclude it.")  # fmt: skip
        return
    yield from _wrong(result)
    for doubt in result.shape_doubts:
        yield Finding("survey-shape", "warning", (), message=doubt.split(": ")[0].rstrip(".") + ".",
                      remedy=_sentence(doubt.split(": ", 1)[-1]))  # fmt: skip
    drawn = {id_ for outline in document.survey.outlines for id_ in _points(outline)}
    for mirror in result.adjustment.mirrors:
        names = [name for name in mirror.places if name in drawn]
        if mirror.decided_by != "nothing" or not names:
            continue
        point = result.adjustment.point(names[0])
        x, y = mirror.places[names[0]]
        yield Finding(
            rule="survey-mirrored",
            level="warning",
            items=tuple(names),
            at=(point.x, point.y),
            line=((point.x, point.y), (x, y)),
            message=f"The readings fit {names[0]} at {point.x:.0f}, {point.y:.0f} mm and at {x:.0f}, {y:.0f} mm alike.",
            remedy=f"Take {words.reading(mirror.reading)}, which tells them apart."
            if mirror.reading
            else "Take one more reading to it.",
        )
    for id_ in sorted({id_ for outline in document.survey.outlines for id_ in _points(outline)}):
        if result.adjustment.point(id_).loose:
            yield Finding("survey-loose", "warning", (id_,), message=f"No reading holds the point {id_} in place.",
                          remedy="The step Measure says which reading would hold it.")  # fmt: skip
    for outline in document.survey.outlines:
        yield from _chance(scene, outline, result)


def _wrong(result: SurveyResult) -> Iterator[Finding]:
    """Readings that are excluded, and those of which one is wrong but cannot be told."""
    adjusted = result.adjustment
    for checked in adjusted.suspects:
        id_ = checked.observation.id
        likely = [f"{p.value:g} {p.unit} ({p.why})" for p in result.proposals.get(id_, ())]
        yield Finding(
            rule="survey-suspect",
            level="warning",
            items=(id_,),
            value=abs(checked.residual),
            unit="mm",
            at=_place(adjusted, checked.observation),
            message=f"The reading {id_} is {mm(abs(checked.residual))} off what the others make it; it is excluded.",
            remedy=f"Read it again; it was probably {likely[0]}." if likely else "Read it again, or exclude it.",
        )
    for group in adjusted.rivals:
        first = next(reading.observation for reading in adjusted.readings if reading.observation.id == group[0])
        decides = result.decides
        yield Finding(
            rule="survey-suspect",
            level="warning",
            items=tuple(group),
            at=_place(adjusted, first),
            message=f"One of the readings {', '.join(group)} is wrong, and it cannot be told which."
            if len(group) > 1
            else f"The reading {group[0]} cannot be right if the others are.",
            remedy=f"Take {words.reading(decides.reading)}{' again' if decides.again else ''}."
            if decides
            else f"Read {group[0]} again.",
        )
    if adjusted.overwhelmed:
        yield Finding(
            rule="survey-suspect",
            level="warning",
            items=(),
            message="So many readings disagree that none can be singled out.",
            remedy="Look for a point that was mixed up with another, or a tool whose spread is larger than stated.",
        )


def _place(adjusted: Adjustment, reading: Observation) -> Point:
    """The middle between a reading's points."""
    points = [adjusted.point(name) for name in reading.points]
    return (sum(p.x for p in points) / len(points), sum(p.y for p in points) / len(points))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


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
    shapes = scene.shapes
    under, top = (above_floor_mm(scene.document, level) for level in (0.0, shapes.thickness))
    if outline.what == "floor":
        walls, least = shapely.boundary(shapes.floor_polygon), 0.0
    else:
        obstacle = shapes.obstacles.get(outline.id)
        if obstacle is None or obstacle.high <= under or obstacle.low >= top:
            return None
        walls, least = shapely.boundary(obstacle.polygon), scene.limit("plate-over-obstacle")
    start, end = shapely.shortest_line(scene.edge, walls).coords
    line = ((start[0], start[1]), (end[0], end[1]))
    return float(shapely.distance(scene.edge, walls)), least, line
