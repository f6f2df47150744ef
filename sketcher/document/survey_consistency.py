"""What a survey's fields cannot say for themselves: points, walls, tools and outlines that name one another."""

from __future__ import annotations

from collections.abc import Iterator

from sketcher.document.floor import Survey
from sketcher.document.problem import Location, Problem, nearest


def survey_problems(survey: Survey) -> Iterator[Problem]:
    """Everything inconsistent in a survey whose fields are each valid by themselves."""
    yield from _readings(survey)
    yield from _axes(survey)
    yield from _outlines(survey)


def _readings(survey: Survey) -> Iterator[Problem]:
    points = {point.id for point in survey.points}
    tools = {tool.id for tool in survey.tools}
    needed = {"distance": 2}
    for index, reading in enumerate(survey.readings):
        here: Location = ("survey", "readings", index)
        count = needed.get(reading.kind, 1)
        if len(reading.points) != count:
            yield Problem(
                (*here, "points"), f"a reading of kind {reading.kind!r} names {count} point(s)", reading.points
            )
        elif count == 2 and reading.points[0] == reading.points[1]:
            yield Problem((*here, "points"), "a distance from a point to itself; name two points", reading.points)
        if reading.kind in ("offset", "along"):
            if reading.wall is None:
                yield Problem((*here, "wall"), f"a reading of kind {reading.kind!r} needs the wall's two points")
            elif reading.wall[0] == reading.wall[1]:
                yield Problem((*here, "wall"), "a wall of no length: name two different points", reading.wall)
        for id_ in (*reading.points, *(reading.wall or ())):
            if id_ not in points:
                yield Problem(
                    here, f"the reading {reading.id!r} names {id_!r}, which is no point{nearest(id_, points)}", id_
                )
        if reading.tool not in tools:
            yield Problem(
                (*here, "tool"), f"no tool is called {reading.tool!r}{nearest(reading.tool, tools)}", reading.tool
            )


def _axes(survey: Survey) -> Iterator[Problem]:
    points = {point.id for point in survey.points}
    for key in ("origin", "along_x"):
        id_ = getattr(survey, key)
        if id_ is not None and id_ not in points:
            yield Problem(("survey", key), f"no point is called {id_!r}{nearest(id_, points)}", id_)
    if survey.origin is not None and survey.origin == survey.along_x:
        yield Problem(("survey", "along_x"), "the x axis needs a second point; this one is the origin", survey.along_x)


def _outlines(survey: Survey) -> Iterator[Problem]:
    points = {point.id for point in survey.points}
    for index, outline in enumerate(survey.outlines):
        here: Location = ("survey", "outlines", index)
        for at, id_ in enumerate(outline.corners):
            if id_ not in points:
                yield Problem((*here, "corners", at), f"no point is called {id_!r}{nearest(id_, points)}", id_)
        if outline.centre is not None and outline.centre not in points:
            yield Problem((*here, "centre"), f"no point is called {outline.centre!r}{nearest(outline.centre, points)}")
        if (outline.centre is None) == (len(outline.corners) < 3):
            yield Problem(
                here, f"the outline {outline.id!r} needs three corners or more, or a centre, not both or neither"
            )
