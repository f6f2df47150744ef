"""The survey of a document: adjusted, told in words, and made the document's floor.

``adjust`` works out the points, ``SurveyResult.as_json`` tells everything about them, ``apply`` draws the floor through
them. The uncertainty is not written into the floor: it follows from the readings, which the document keeps, so whoever
needs it (``sigma_of_gap``, ``chance_below``) adjusts again and can never meet a stale one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from sketcher.document import Document, DocumentError, with_changes
from sketcher.document.floor import Floor, Obstacle, Opening, Reading, Survey, Surveyed
from sketcher.document.outlines import Circle, Polygon, Vertex
from sketcher.document.strict_json import Fault
from sketcher.survey import adjustment, candidates, plausible, remedies
from sketcher.survey import wording as words
from sketcher.survey.adjustment import Adjustment
from sketcher.survey.deciding import Decision
from sketcher.survey.ellipse import sigma_along
from sketcher.survey.readings_network import Network, Observation, build
from sketcher.survey.room import Room
from sketcher.survey.slips import UNITS_MM, Proposal
from sketcher.survey.whole_units import Known, UnitDoubt, by_size, known_lengths, unit_doubts

#: Adjusted coordinates in a document are rounded to this many decimals of a mm: far below any tool's spread.
DECIMALS = 4
#: Spread asked of a tool that the survey does not name, mm (steel rule; common practice, no source).
USUAL_SPREAD_MM = 0.3


@dataclass(frozen=True)
class Diameter:
    """An adjusted diameter or height of a point, mm."""

    value_mm: float
    sigma_mm: float


@dataclass(frozen=True)
class SurveyResult:
    """Everything known about a document's survey after the adjustment. Lengths in mm.

    ``proposals`` holds, for each excluded reading's id, what it should have been, the likeliest first;
    ``rival_slips`` for a rival's id the slip that would explain it; ``shape_doubts`` what is odd about the floor's size
    or shape; ``unit_doubts`` the units that all readings, or some, may have been in; ``advice`` the next readings worth
    taking; ``messages`` the same in words, the most urgent first.
    """

    adjustment: Adjustment
    readings: tuple[Reading, ...]
    diameters: dict[str, Diameter]
    heights: dict[str, Diameter]
    proposals: dict[str, tuple[Proposal, ...]]
    rival_slips: dict[str, Proposal]
    advice: tuple[candidates.Advice, ...]
    origin: str | None
    along_x: str | None
    shape_doubts: tuple[str, ...] = ()
    decides: Decision | None = None
    unit_doubts: tuple[UnitDoubt, ...] = ()

    @property
    def messages(self) -> tuple[str, ...]:
        """The result in words."""
        return words.survey(
            self.adjustment, self.proposals, self.rival_slips, self.decides, self.advice, self.shape_doubts
        )

    def as_json(self) -> dict[str, Any]:
        """The result with the keys of ``docs/survey.md``; no NaN, unknown numbers are null."""
        from sketcher.survey.answer import as_json  # it reads this module's types

        return as_json(self)


def adjust(document: Document) -> SurveyResult:
    """Adjust a document's survey.

    Raises:
        DocumentError: a reading that says nothing, or readings that no adjustment can use; names the place.
    """
    known = known_lengths(document) if document.survey.readings else Known()
    return _adjusted(document.survey, known)


@lru_cache(maxsize=8)
def _adjusted(survey: Survey, known: Known) -> SurveyResult:
    """The adjustment of a survey, kept: while something on the plate is dragged the survey is the same."""
    origin, along_x, fixed = _datum(survey)
    network = _network(survey, fixed)
    guesses = {
        point.id: (point.x_mm, point.y_mm)
        for point in survey.points
        if point.x_mm is not None and point.y_mm is not None
    }
    spread = _usual_spread(survey)
    outline = next((o for o in survey.outlines if o.what == "floor" and o.centre is None), None)
    corners = tuple(outline.corners) if outline else ()
    adjusted = adjustment.adjust(network, Room(guesses, corners), advice_sigma=spread)
    left = candidates.by_hand(
        adjusted.used, candidates.readings_left(adjusted.used, adjusted.state, spread), adjusted.state
    )
    scalars = {kind: _scalars(adjusted, kind) for kind in ("diameter", "height")}
    widths = {name: diameter.value_mm for name, diameter in scalars["diameter"].items()}
    slips = remedies.rival_slips(survey, adjusted, widths)
    units = unit_doubts(survey, adjusted, corners, known)
    odd = (*plausible.doubts(adjusted, corners, by_size(units)), *(one.words for one in units if one.said))
    return SurveyResult(
        adjustment=adjusted,
        readings=tuple(survey.readings),
        diameters=scalars["diameter"],
        heights=scalars["height"],
        proposals=remedies.remedies(survey, adjusted, widths),
        rival_slips=slips,
        decides=adjusted.decides(slips),
        advice=tuple(candidates.tightening(adjusted.used, adjusted.precision, adjusted.state, left, adjusted.loose)),
        origin=origin,
        along_x=along_x,
        shape_doubts=odd,
        unit_doubts=units,
    )


def apply(document: Document, result: SurveyResult) -> Document:
    """The document with its floor drawn through the adjusted points.

    The survey's outlines say what is drawn: one of kind ``floor`` becomes the floor's outline; obstacles and openings
    replace those of the same id, or are added. Without a floor outline the floor keeps its own. Points keep
    their adjusted places as first guesses, so that the next adjustment starts from them.

    Raises:
        DocumentError: an outline leans on a loose point, or on a diameter or a height that no reading gives.
    """
    floor = document.floor
    obstacles = {obstacle.id: obstacle for obstacle in floor.obstacles}
    openings = {opening.id: opening for opening in floor.openings}
    outline = floor.outline
    for index, surveyed in enumerate(document.survey.outlines):
        place = f"/survey/outlines/{index}"
        drawn = _drawn(surveyed, result, place)
        if surveyed.what == "floor":
            outline = drawn
        elif surveyed.what == "opening":
            openings[surveyed.id] = Opening(id=surveyed.id, name=surveyed.name, outline=drawn)
        else:
            old = obstacles.get(surveyed.id)
            obstacles[surveyed.id] = Obstacle(
                id=surveyed.id,
                name=surveyed.name or (old.name if old else ""),
                outline=drawn,
                bottom_mm=old.bottom_mm if old else 0.0,
                height_mm=_height(surveyed, result, old, place),
            )
    points = [
        point
        if result.adjustment.point(point.id).loose
        else point.model_copy(
            update={
                "x_mm": round(result.adjustment.point(point.id).x, DECIMALS) + 0.0,
                "y_mm": round(result.adjustment.point(point.id).y, DECIMALS) + 0.0,
                **({"z_mm": round(result.heights[point.id].value_mm, DECIMALS)} if point.id in result.heights else {}),
            }
        )
        for point in document.survey.points
    ]
    new_floor = Floor(
        **{
            **dict(floor),
            "outline": outline,
            "obstacles": list(obstacles.values()),
            "openings": list(openings.values()),
        }
    )
    return with_changes(document, floor=new_floor, survey=document.survey.model_copy(update={"points": points}))


def sigma_of_gap(result: SurveyResult, points: tuple[str, ...], direction: tuple[float, float]) -> float:
    """The largest spread, mm, of some surveyed points in a direction: what a gap to their edge is uncertain by."""
    return max((sigma_along(result.adjustment.point(name).covariance, direction) for name in points), default=0.0)


def chance_below(value_mm: float, limit_mm: float, sigma_mm: float) -> float:
    """Chance, 0 to 1, that a normally distributed quantity known as ``value ± sigma`` lies below a limit."""
    if sigma_mm <= 0.0:
        return 1.0 if value_mm < limit_mm else 0.0
    return 0.5 * math.erfc((value_mm - limit_mm) / (sigma_mm * math.sqrt(2.0)))


def _datum(survey: Survey) -> tuple[str | None, str | None, dict[tuple[str, str], float]]:
    """The held coordinates: the stated ones; else those that were read give the frame; else the first two points do."""
    names = [point.id for point in survey.points]
    read = {reading.kind for reading in survey.readings if not reading.set_aside}
    origin, along_x = survey.origin, survey.along_x
    if origin is None and along_x is None and {"x", "y"} <= read:
        return None, None, {}
    if origin is None:
        origin = next((name for name in names if name != along_x), None)
    if along_x is None:
        along_x = next((name for name in names if name != origin), None)
    fixed: dict[tuple[str, str], float] = {}
    if origin is not None:
        fixed[(origin, "x")] = fixed[(origin, "y")] = 0.0
    if along_x is not None:
        fixed[(along_x, "y")] = 0.0
    return origin, along_x, fixed


def _network(survey: Survey, fixed: dict[tuple[str, str], float]) -> Network:
    spreads = {tool.id: tool.spread_mm for tool in survey.tools}
    observations = []
    faults = []
    names = [point.id for point in survey.points]
    for index, reading in enumerate(survey.readings):
        if reading.set_aside:
            continue
        observation = Observation(
            id=reading.id,
            kind=reading.kind,
            points=tuple(reading.points),
            value=reading.value * UNITS_MM[reading.unit],
            sigma=spreads[reading.tool],
            wall=(reading.wall[0], reading.wall[1]) if reading.wall else None,
        )
        try:
            build(names, [observation], {})
        except ValueError as error:
            faults.append(Fault(f"/survey/readings/{index}", str(error)))
        observations.append(observation)
    if faults:
        raise DocumentError(faults)
    return build(names, observations, fixed)


def _usual_spread(survey: Survey) -> float:
    """The spread of the tool used most: the one at hand for the next reading."""
    spreads = {tool.id: tool.spread_mm for tool in survey.tools}
    used = [reading.tool for reading in survey.readings if reading.kind not in ("diameter", "height")]
    if not used:
        return spreads.get("rule", USUAL_SPREAD_MM)
    return spreads[max(sorted(set(used)), key=used.count)]


def _scalars(adjusted: Adjustment, kind: str) -> dict[str, Diameter]:
    network = adjusted.used
    count = 2 * len(network.points)
    return {
        name: Diameter(
            float(adjusted.state[count + k]), math.sqrt(float(adjusted.precision.covariance[count + k, count + k]))
        )
        for k, (of, name) in enumerate(network.scalars)
        if of == kind
    }


def _drawn(surveyed: Surveyed, result: SurveyResult, place: str) -> Circle | Polygon:
    names = surveyed.corners if surveyed.centre is None else [surveyed.centre]
    loose = [name for name in names if result.adjustment.point(name).loose]
    if loose:
        raise DocumentError(
            [
                Fault(
                    place,
                    f"the point {loose[0]!r} is undetermined; read more to it before the floor is drawn through it",
                )
            ]
        )
    points = [result.adjustment.point(name) for name in names]
    if surveyed.centre is not None:
        if surveyed.centre not in result.diameters:
            raise DocumentError(
                [Fault(place, f"no diameter was read at {surveyed.centre!r}; add a reading of kind 'diameter'")]
            )
        return Circle(
            x_mm=round(points[0].x, DECIMALS),
            y_mm=round(points[0].y, DECIMALS),
            diameter_mm=round(result.diameters[surveyed.centre].value_mm, DECIMALS),
        )
    return Polygon(vertices=[Vertex(x_mm=round(p.x, DECIMALS) + 0.0, y_mm=round(p.y, DECIMALS) + 0.0) for p in points])


def _height(surveyed: Surveyed, result: SurveyResult, old: Obstacle | None, place: str) -> float:
    names = surveyed.corners if surveyed.centre is None else [surveyed.centre]
    read = [result.heights[name].value_mm for name in names if name in result.heights]
    if surveyed.height_mm is not None:
        return surveyed.height_mm
    if read:
        return round(max(read), DECIMALS)
    if old is not None:
        return old.height_mm
    raise DocumentError(
        [Fault(place, f"the obstacle {surveyed.id!r} has no height: read one at a corner, or type its height")]
    )
