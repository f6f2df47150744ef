"""Readings that all agree, in the wrong unit; and some of them in another unit than the rest.

Readings say nothing of their unit: a floor of 19 by 16 inches typed as millimetres agrees with itself. What tells is a
length that is known besides: how large a case floor can be, the floor as it is drawn, the holes of a board. Where only
some of the readings are in another unit the rest contradicts them, and one look at each reading alone finds no end of
slips; so readings of one tool, of one kind, of one stretch of the list and those that are much smaller than the rest
are tried together. Nothing is changed by this: the user is asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np

from sketcher.document import Document
from sketcher.document.floor import Reading, Survey
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.placement import board_holes, frames
from sketcher.survey import plausible
from sketcher.survey.adjustment import Adjustment, adjust
from sketcher.survey.branches import best_fits
from sketcher.survey.readings_network import Array, build
from sketcher.survey.room import Room
from sketcher.survey.slips import UNIT_NAMES, UNITS_MM

Unit = Literal["mm", "cm", "in"]
Because = Literal["small", "large", "floor", "board", "mixed"]

#: A known size and the survey's may differ by this part and still be the same.
SAME_SIZE = 0.04
#: A hole that lies no farther than this from a point is the point's, mm; and so many make a board's pattern.
SAME_HOLE, LEAST_HOLES = 1.5, 4
#: A board lies flat when its component side looks this much up or down (cosine).
LYING = 0.999
#: Readings of two units differ in their middles by the unit's factor, and by no more than this besides.
NATURAL = 4.0
#: Sets of readings that are tried in another unit; and of these, the ones that are adjusted whole, with every reading
#: left out in turn. Counted, not timed: the same readings have the same answer on a slow machine.
MOST_TRIED, MOST_WHOLE = 6, 3
#: What makes some readings agree leaves no more than this part of the sum of squares.
MUCH_BETTER = 0.05


@dataclass(frozen=True)
class Known:
    """Lengths known besides the readings, mm: the floor as drawn (width, depth), and of each board that lies flat its
    holes, in its own u and v."""

    floor: tuple[float, float] | None = None
    boards: tuple[tuple[str, tuple[tuple[float, float], ...]], ...] = ()


@dataclass(frozen=True)
class UnitDoubt:
    """Readings that may be in another unit than was typed; how large the floor would be then, mm; and why."""

    readings: tuple[str, ...]
    typed: Unit
    unit: Unit
    width_mm: float
    depth_mm: float
    because: Because
    words: str

    @property
    def said(self) -> bool:
        """Whether its own words are needed: the size alone is asked about with all units at once."""
        return self.because not in ("small", "large")


def by_size(found: Sequence[UnitDoubt]) -> dict[str, float] | None:
    """Units that the floor's size alone speaks for, by name, with their factors; None where something tells better."""
    if any(one.said for one in found):
        return None
    return {UNIT_NAMES[one.unit]: UNITS_MM[one.unit] / UNITS_MM[one.typed] for one in found}


def known_lengths(document: Document) -> Known:
    """What the document knows besides its readings."""
    box = np.array(contour(document.floor.outline).path.points(0.1))
    width, depth = (float(size) for size in np.ptp(box, axis=0))
    placed = frames(document) if document.boards else {}
    boards = tuple(
        (board.id, tuple((u, v) for _, u, v, _ in holes))
        for board in document.boards
        if len(holes := board_holes(board)) >= LEAST_HOLES and abs(placed[board.id].axes[2, 2]) > LYING
    )
    return Known((width, depth), boards)


def in_unit(survey: Survey, unit: Unit, readings: Iterable[str] | None = None) -> Survey:
    """The survey with some readings, by id, or all taken in another unit; what was typed stays."""
    chosen = None if readings is None else set(readings)
    changed = [
        reading.model_copy(update={"unit": unit}) if chosen is None or reading.id in chosen else reading
        for reading in survey.readings
    ]
    return survey.model_copy(update={"readings": tuple(changed)})


def unit_doubts(
    survey: Survey,
    adjusted: Adjustment,
    corners: Sequence[str],
    known: Known,
) -> tuple[UnitDoubt, ...]:
    """Units that are in doubt, the likeliest first; none when the typed ones can be.

    Args:
        survey: as it was typed.
        adjusted: the same, adjusted.
        corners: of the floor's outline, if it was named.
        known: lengths that tell.
    """
    used = [reading for reading in survey.readings if not reading.set_aside]
    if len(used) < 2:
        return ()
    plane = [reading for reading in used if reading.kind not in ("diameter", "height")]
    some = () if _one_slip(adjusted) else tuple(_mixed(plane, adjusted, corners, Room(corners=tuple(corners))))
    return some or tuple(_all(used, adjusted, corners, known))


def _one_slip(adjusted: Adjustment) -> bool:
    """Whether all agrees, or would if a single reading were right: that is likelier than several in another unit."""
    single = any(len(one.wrong) == 1 for one in adjusted.explained)
    return single or (adjusted.agrees and len(adjusted.suspects) < 2)


# All of them.


def _all(used: Sequence[Reading], adjusted: Adjustment, corners: Sequence[str], known: Known) -> Iterator[UnitDoubt]:
    plane = [reading for reading in used if reading.kind not in ("diameter", "height")]
    size = plausible.size_of(adjusted, corners)
    if len({reading.unit for reading in plane}) != 1 or size is None:
        return
    typed = plane[0].unit
    tools = {reading.tool for reading in plane}
    # A caliper may be in millimetres where the tape is in inches.
    ids = tuple(r.id for r in used if r.unit == typed and (r in plane or r.tool in tools))
    others = {unit: UNITS_MM[unit] / UNITS_MM[typed] for unit in _UNITS if unit != typed}
    believable = [u for u, by in others.items() if plausible.SMALLEST <= by * max(size) <= plausible.LARGEST]
    points = _points(adjusted)
    said: dict[Unit, tuple[Because, str]] = {}
    for board, holes in known.boards:
        if _on_holes(points, holes):
            return  # a board's holes lie where they should: the unit is right
        for unit in believable:
            if _on_holes(points * others[unit], holes):
                said.setdefault(unit, ("board", f"its points lie like the holes of {board}, but smaller or larger"))
    if known.floor is not None and not _same(size, known.floor, 0.15):
        for unit in believable:
            if _same((size[0] * others[unit], size[1] * others[unit]), known.floor, SAME_SIZE):
                said.setdefault(unit, ("floor", f"the floor is drawn {known.floor[0]:.0f} × {known.floor[1]:.0f} mm"))
    for unit in believable if not said else ():
        if max(size) < plausible.SMALLEST:
            said[unit] = ("small", "no case floor is so small")
        elif max(size) > plausible.LARGEST:
            said[unit] = ("large", "no case floor is so large")
    for unit, (because, why) in said.items():
        width, depth = (others[unit] * length for length in size)
        words = (
            f"The survey comes out {size[0]:.0f} × {size[1]:.0f} mm as it is typed, in {UNIT_NAMES[typed]}, and {why}: "
            f"were all readings in {UNIT_NAMES[unit]}? It would be {width:.0f} × {depth:.0f} mm then."
        )
        yield UnitDoubt(ids, typed, unit, width, depth, because, words)


def _same(size: tuple[float, float], known: tuple[float, float], within: float) -> bool:
    """Whether two sizes are the same, either way round."""
    return any(
        all(abs(math.log(max(a, 1e-9) / max(b, 1e-9))) < within for a, b in zip(size, other, strict=True))
        for other in (known, known[::-1])
    )


def _points(adjusted: Adjustment) -> Array:
    return np.array([(p.x, p.y) for p in adjusted.points if not p.loose]).reshape(-1, 2)


def _on_holes(points: Array, holes: Sequence[tuple[float, float]]) -> bool:
    """Whether some of the points lie to one another as a board's holes do, seen from either side."""
    if len(points) < LEAST_HOLES:
        return False
    place = points[:, 0] + 1j * points[:, 1]
    for wanted in (np.array([x + 1j * y for x, y in holes]), np.array([x - 1j * y for x, y in holes])):
        for i in range(len(place)):
            for j in range(i + 1, len(place)):
                if _pairs_on(place, i, j, wanted):
                    return True
    return False


def _pairs_on(place: np.ndarray, i: int, j: int, wanted: np.ndarray) -> bool:
    step = place[j] - place[i]
    apart = wanted[None, :] - wanted[:, None]
    for a, b in zip(*np.nonzero(np.abs(np.abs(apart) - abs(step)) < SAME_HOLE), strict=True):
        if a == b or abs(step) < 10 * SAME_HOLE:
            continue
        turn = apart[a, b] / step
        laid = wanted[a] + (place - place[i]) * turn / abs(turn)
        near = np.abs(laid[:, None] - wanted[None, :]) < SAME_HOLE
        if int(near.any(axis=0).sum()) >= LEAST_HOLES:
            return True
    return False


# Some of them.


def _mixed(used: Sequence[Reading], adjusted: Adjustment, corners: Sequence[str], room: Room) -> Iterator[UnitDoubt]:
    """Sets of readings that make all agree when they are taken in another unit."""
    tried = sorted(_sets(used), key=lambda one: one[2])
    if not tried:
        return
    before = best_fits(adjusted.network, room)[0].solution.chi2
    done: set[tuple[frozenset[str], str]] = set()
    by_id = {reading.id: reading for reading in used}
    whole = 0
    for ids, unit, _ in tried:
        if (ids, unit) in done or len(done) >= MOST_TRIED:
            continue
        done.add((ids, unit))
        changed = [
            replace(o, value=by_id[o.id].value * UNITS_MM[unit]) if o.id in ids else o
            for o in adjusted.network.observations
        ]
        network = build(adjusted.network.points, changed, adjusted.network.fixed)
        rough = best_fits(network, room)[0].solution
        # A whole adjustment takes long where readings contradict each other: only where it may come to something.
        if rough.chi2 > MUCH_BETTER * before:
            continue
        if whole == MOST_WHOLE:
            return
        whole += 1
        found = adjust(network, room)
        wrong = {checked.observation.id for checked in found.suspects}
        if not found.agrees or found.degrees < 1 or len(wrong) > 1 or wrong & ids:
            continue
        typed = by_id[next(iter(ids))].unit
        names = tuple(reading.id for reading in used if reading.id in ids)
        width, depth = plausible.size_of(found, corners) or (0.0, 0.0)
        rest = f", all but {found.suspects[0].observation.id}" if found.suspects else ""
        yield UnitDoubt(
            names, typed, unit, width, depth, "mixed",
            f"The readings agree{rest} if {_listed(names)} were read in {UNIT_NAMES[unit]} and typed as "
            f"{UNIT_NAMES[typed]}: settle that first, because until then what is said of single readings may be wrong.",
        )  # fmt: skip
        if not found.suspects:
            return


_UNITS: tuple[Unit, ...] = ("in", "cm", "mm")


def _sets(used: Sequence[Reading]) -> Iterator[tuple[frozenset[str], Unit, float]]:
    """Readings that may be in one other unit, that unit, and how odd it would be (0 not at all)."""
    for chosen in _groups(used):
        ids = frozenset(reading.id for reading in chosen)
        rest = [reading for reading in used if reading.id not in ids]
        units = {reading.unit for reading in chosen}
        if len(chosen) < 2 or len(rest) < 2 or len(units) != 1:
            continue
        (typed,) = units
        apart = _middle(rest) - _middle(chosen)
        for unit in _UNITS:
            factor = math.log(UNITS_MM[unit] / UNITS_MM[typed])
            if unit != typed and abs(apart - factor) < math.log(NATURAL):
                yield ids, unit, abs(apart - factor)


def _groups(used: Sequence[Reading]) -> Iterator[Sequence[Reading]]:
    for key in ("tool", "kind", "unit"):
        values = {getattr(reading, key) for reading in used}
        yield from ([r for r in used if getattr(r, key) == value] for value in sorted(values) if len(values) > 1)
    logs = [_log(reading) for reading in used]
    # A stretch of the list, where a second person or another day begins.
    cuts = sorted(range(2, len(used) - 1), key=lambda k: -abs(float(np.median(logs[:k]) - np.median(logs[k:]))))
    for k in cuts[:2]:
        yield used[:k]
        yield used[k:]
    order = sorted(used, key=_log)
    steps = [_log(b) - _log(a) for a, b in pairwise(order)]
    for k in sorted(range(len(steps)), key=lambda k: -steps[k])[:2]:
        yield order[: k + 1]
        yield order[k + 1 :]


def _log(reading: Reading) -> float:
    return math.log(reading.value * UNITS_MM[reading.unit])


def _middle(readings: Iterable[Reading]) -> float:
    return float(np.median([_log(reading) for reading in readings]))


def _listed(names: Sequence[str]) -> str:
    shown = list(names) if len(names) <= 6 else [*names[:4], f"{len(names) - 4} more"]
    return f"{', '.join(shown[:-1])} and {shown[-1]}"
