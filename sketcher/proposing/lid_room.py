"""Where two things are too near each other for groove and lid screws, and what moving one of them gives.

Where a draft joins everything and its lid does not hold, the room that a lid screw beyond the groove takes is measured
between all channels, ports, cutouts, pockets, holes and the plate's edge. What is short of it is named with by how
much; moves by that much are made, the channels laid again, the screws designed again, and all rules run.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document, items
from sketcher.document.joined import joined_parts, open_connections
from sketcher.findings import mm
from sketcher.geometry import build
from sketcher.geometry.path import Point
from sketcher.proposing.budget import ALL_RULES_S, Budget
from sketcher.proposing.item_moves import Move, least, movable, moved_item, stands
from sketcher.proposing.judging import Judged, judge
from sketcher.proposing.rule_distances import Clearances, Section

#: So many places short of room are told of, and so many moved together.
MOST_TOLD, _TOGETHER = 4, 3
#: A move is what is short of room, and then so many times as much.
_TIMES = (1.0, 1.6, 2.5)
#: Moves are on halves of a millimetre; less than this is not short.
_HALF_MM, _LEAST_MM = 0.5, 0.3
#: What laying all channels again costs beside the lattice, s.
_LAID_S = 0.3


@dataclass(frozen=True)
class Short:
    """Two things between which groove and lid screws find too little room.

    ``one`` is what coolant runs in; ``other`` is an id, empty for the plate's edge. ``away`` is the unit vector from
    the first to the second at the narrowest place, ``at`` that place.
    """

    one: str
    other: str
    wide_mm: float
    needed_mm: float
    away: Point
    at: Point

    @property
    def short_mm(self) -> float:
        """What is missing, mm."""
        return self.needed_mm - self.wide_mm

    def why(self, document: Document) -> str:
        """The place in words."""
        one, other = named(document, self.one), named(document, self.other)
        return (
            f"{one[0].upper()}{one[1:]} and {other} are {mm(self.wide_mm)} apart; a groove with lid screws takes "
            f"{mm(self.needed_mm)}, which is {mm(self.short_mm)} more."
        )


@dataclass(frozen=True)
class Roomier:
    """What moves gave: plates that pass, and moves that did not do with what the rules then still said."""

    passing: tuple[Judged, ...]
    tried: tuple[tuple[tuple[Move, ...], str], ...]


def short_of_room(document: Document, limits: dict[str, float], about: Sequence[Point] = ()) -> list[Short]:
    """The places short of room, those nearest to where the rules found something first.

    Args:
        document: with all joined.
        limits: in force, by rule.
        about: where the rules found something, mm.
    """
    shapes = build(document)
    edge = shapely.boundary(shapely.make_valid(shapes.plate_polygon))
    solid = {*shapes.cutouts, *shapes.pockets, *shapes.holes}
    found: list[Short] = []
    rows_mm = 0.0
    for id_, channel in shapes.channels.items():
        section = Section(channel.item.width_mm, channel.item.depth_mm)
        roomy = Clearances(document, shapes, limits, section, roomy=True)
        if not roomy.two_rows_mm:
            return []  # no groove, or no screws
        rows_mm = max(rows_mm, roomy.two_rows_mm - section.width_mm)
        for obstacle in roomy.obstacles:
            if obstacle.id in solid:
                found += _short(id_, channel.polygon, obstacle.id, obstacle.area, obstacle.distance_mm)
        found += _short(id_, channel.polygon, "", edge, roomy.edge_mm)
    net_of = _nets(document)
    for (a, one), (b, other) in combinations(shapes.channels.items(), 2):
        if net_of[a] != net_of[b]:
            found += _short(a, one.polygon, b, other.polygon, rows_mm)
    worst: dict[tuple[str, str], Short] = {}
    for one_short in found:
        key = (one_short.one, one_short.other)
        if key not in worst or worst[key].short_mm < one_short.short_mm:
            worst[key] = one_short
    return sorted(worst.values(), key=lambda one: (_from(one.at, about), -one.short_mm))[:MOST_TOLD]


def _short(one: str, wet: BaseGeometry, other: str, area: BaseGeometry, needed_mm: float) -> Iterator[Short]:
    line = shapely.shortest_line(wet, area)
    wide = float(line.length)
    if wide > 0 and needed_mm - wide > _LEAST_MM:
        (x0, y0), (x1, y1) = line.coords
        yield Short(one, other, wide, needed_mm, ((x1 - x0) / wide, (y1 - y0) / wide), ((x0 + x1) / 2, (y0 + y1) / 2))


def _from(at: Point, about: Sequence[Point]) -> float:
    """How far a place is from the nearest of some, in steps of 20 mm, mm."""
    return round(min((math.dist(at, place) for place in about), default=0.0) / 20)


def _nets(document: Document) -> dict[str, int]:
    """The number of what hangs together, by channel."""
    return {
        channel.id: number
        for number, part in enumerate(joined_parts(document))
        for channel in document.channels
        if channel.start in part or channel.end in part
    }


def with_room(
    draft: Judged,
    base: Document,
    limits: dict[str, float],
    budget: Budget,
    *,
    lay: Callable[[Document], Document],
    screwed: Callable[[Document], Document],
    wanted: int,
) -> Roomier:
    """Moves after which no rule finds an error that was not there before.

    Args:
        draft: with all joined, its lid screws designed, and errors.
        base: the plate without the draft's channels.
        limits: in force, by rule.
        budget: what the trials may take.
        lay: lays all channels on a plate.
        screwed: designs its lid screws.
        wanted: so many that pass are enough.
    """
    short = short_of_room(draft.document, limits, places_of(draft))
    tried: list[tuple[tuple[Move, ...], str]] = []

    def made(moves: tuple[Move, ...]) -> Judged | None:
        moved = _moved(base, moves)
        if moved is None or not all(stands(moved, move.item, budget) for move in moves):
            return None
        budget.spend(_LAID_S + ALL_RULES_S)
        laid = lay(moved)
        if open_connections(laid):
            return None
        judged = judge(screwed(laid), draft.known)
        if judged.good:
            return judged
        tried.append((moves, next((error.message for error in judged.own_errors), "")))
        return None

    for times in _TIMES:
        all_sides = [list(_sides(draft.document, base, place, times)) for place in short]
        whole = {move.item: move for sides in all_sides[:_TOGETHER] for move in next(iter(sides), ())}
        if not whole or not budget.left():
            break
        if (at_once := made(tuple(whole.values()))) is None:
            continue
        # Less may do: one side of one place.
        passing: list[Judged] = []
        for moves in (one for sides in all_sides for one in sides if len(one) < len(whole)):
            if not budget.left() or len(passing) >= wanted:
                break
            if (judged := made(moves)) is not None:
                passing.append(_least(moves, judged, made, budget))
        if not passing:
            passing = [_least(tuple(whole.values()), at_once, made, budget)]
        return Roomier(tuple(passing), tuple(tried))
    return Roomier((), tuple(tried))


def _least(
    moves: tuple[Move, ...], judged: Judged, made: Callable[[tuple[Move, ...]], Judged | None], budget: Budget
) -> Judged:
    """What passes with the same moves, made shorter by as much as the rules allow, to a tenth of a millimetre."""
    far = max(move.far_mm for move in moves)

    def shorter(to_mm: float) -> Judged | None:
        return made(tuple(move.as_far_as(max(move.far_mm * to_mm / far, 0.1)) for move in moves))

    return least(far, judged, shorter, budget.left)[1]


def _sides(document: Document, base: Document, place: Short, times: float) -> Iterator[tuple[Move, ...]]:
    """What can be moved at a place: the item on one side, or the ports of the channel on either."""
    far = _halves(place.short_mm * times)
    ends = {channel.id: (channel.start, channel.end) for channel in document.channels}
    known = items(base)
    for id_, way in ((place.other, 1.0), (place.one, -1.0)):
        ids = [id_] if id_ in known and id_ not in ends else [end for end in ends.get(id_, ()) if end in known]
        free = [one for one in ids if one is not None and movable(base, one) and not known[one].locked]
        # Away from zero, so that rounding takes nothing away again.
        dx, dy = (math.copysign(math.ceil(abs(far * c) * 10 - 1e-6) / 10, way * c) + 0.0 for c in place.away)
        if free and len(free) == len(ids):
            yield tuple(Move(one, dx, dy) for one in free)


def _moved(document: Document, moves: Sequence[Move]) -> Document | None:
    found: Document | None = document
    for move in moves:
        found = None if found is None else moved_item(found, move)
    return found


def places_of(judged: Judged) -> list[Point]:
    """Where the rules found errors that came with a proposal, mm."""
    return [error.at for error in judged.own_errors if error.at is not None]


def in_words(moves: Sequence[Move]) -> str:
    """Moves in words."""
    return " and ".join(f"{move.item} moved by {move.dx_mm:g}, {move.dy_mm:g} mm" for move in moves)


def _halves(value: float) -> float:
    return math.ceil(value / _HALF_MM) * _HALF_MM


def named(document: Document, id_: str) -> str:
    """A place's side as the user knows it: a channel that is proposed has no name on the plate yet."""
    channel = next((one for one in document.channels if one.id == id_), None)
    if channel is None:
        return id_ or "the plate's edge"
    return f"the channel from {channel.start} to {channel.end}"
