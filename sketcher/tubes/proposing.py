"""A course proposed: the fewest bends, then the shortest, clear of everything, straight where it lands plumb.

First the courses of two bends are tried whose middle leg runs straight from above the one port to before the other.

Legs run along the floor's axes, on a grid of planes through the two ends and beside everything that is in the way
(Hanan's grid in space: a shortest way among boxes has its corners there). A state is a corner and the direction in
which it was reached; states are taken in the order of bends, then length, each with the least that must still come
(A*), so that the first to arrive is the best on the grid.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.document.tubes import TubePoint
from sketcher.tubes.line import Vector, rounded, unit
from sketcher.tubes.measures import held_by
from sketcher.tubes.runs import End, Run
from sketcher.tubes.surroundings import Body

#: More corners than this nobody bends; more states than this nobody waits for.
MOST_BENDS, MOST_STATES, _MOST_PLANES = 5, 4_000, 30
#: Ports out of line by no more than this are joined straight, mm.
_PLUMB_MM = 0.5
_AXES = tuple(np.array(v, dtype=float) for v in ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)))


@dataclass(frozen=True)
class Proposal:
    """A course, or why there is none.

    Attributes:
        id: the run's.
        points: its corners; none when the tube runs straight.
        bends, length_mm: of it.
        why: a sentence, when none was found; empty otherwise.
    """

    id: str
    points: tuple[TubePoint, ...]
    bends: int
    length_mm: float
    why: str = ""


@dataclass(frozen=True)
class _Room:
    """What the legs keep clear of: boxes of the floor's axes, grown by the tube's half width and its clearance; and the
    case within which corners lie, (3,) each."""

    low: Vector
    high: Vector
    least: Vector
    most: Vector

    def within(self, place: Vector) -> bool:
        """Whether a corner lies in the case."""
        return bool((place >= self.least - 1e-6).all() and (place <= self.most + 1e-6).all())

    def free(self, starts: Vector, ends: Vector) -> NDArray[np.bool_]:
        """Whether straight legs, (n, 3) each, pass outside all boxes, (n,): by slabs, legs against boxes at once."""
        if not len(self.low):
            return np.ones(len(starts), dtype=bool)
        way = (ends - starts)[:, None, :]
        moves = np.abs(way) > 1e-9
        safe = np.where(moves, way, 1.0)
        first = (self.low[None] + 1e-6 - starts[:, None, :]) / safe
        second = (self.high[None] - 1e-6 - starts[:, None, :]) / safe
        beside = (starts[:, None, :] > self.low[None] + 1e-6) & (starts[:, None, :] < self.high[None] - 1e-6)
        enters = np.where(moves, np.minimum(first, second), np.where(beside, -np.inf, np.inf)).max(axis=-1)
        leaves = np.where(moves, np.maximum(first, second), np.where(beside, np.inf, -np.inf)).min(axis=-1)
        hit = (enters < leaves) & (enters < 1.0) & (leaves > 0.0)
        return np.asarray(~hit.any(axis=1))


def propose(
    document: Document,
    run: Run,
    around: Sequence[Body],
    others: Sequence[Run],
    clearance_mm: float,
    floor: tuple[float, float, float, float],
) -> Proposal:
    """The course of one tube.

    Args:
        document: for what carries the tube's ends.
        run: the tube; its own corners do not count.
        around: what it keeps clear of (``surroundings``).
        others: tubes whose courses stand.
        clearance_mm: to keep between surfaces.
        floor: left, front, right and rear of the case floor, mm: corners stay within it.
    """
    first, last = run.start, run.end
    rigid = run.material is None or run.material.rigid
    straight = (run.material.straight_diameters if run.material and rigid else 0.0) * run.outer_mm
    if _plumb(run):
        return Proposal(run.id, (), 0, float(np.linalg.norm(_face(last) - _face(first))))
    if run.material is not None and not run.material.bends:
        return Proposal(run.id, (), 0, 0.0, f"{run.material.name} does not bend and its ports are not in line: "
                        "use elbow fittings, or another material")  # fmt: skip
    ways = [_ways_out(end, other) for end, other in ((first, last), (last, first))]
    stub = run.radius_mm + straight
    room = _room(document, run, around, others, clearance_mm, floor)
    best: tuple[int, float, list[Vector]] | None = None
    for out, back in itertools.product(*ways):
        found = _two_bends(_face(first), out, _face(last), back, run.radius_mm, straight, room)
        if found is not None and (best is None or found[:2] < best[:2]):
            best = found
        most = MOST_BENDS if best is None else best[0]
        found = _search(_face(first), out, _face(last), back, stub, 2 * run.radius_mm + straight, room, most)
        if found is not None and (best is None or found[:2] < best[:2]):
            best = found
    if best is None:
        return Proposal(
            run.id, (), 0, 0.0, "no way along the case's axes keeps clear; move a device, or draw it by hand"
        )
    corners = best[2]
    line = rounded(np.array(corners), [run.radius_mm] * len(corners))
    points = tuple(TubePoint(x_mm=round(float(x), 3), y_mm=round(float(y), 3), z_mm=round(float(z), 3))
                   for x, y, z in corners[1:-1])  # fmt: skip
    return Proposal(run.id, points, len(line.bends), line.length)


def _face(end: End) -> Vector:
    if end.axis is None:
        return end.at
    return end.at + end.height_mm * end.axis


def _plumb(run: Run) -> bool:
    """Whether a straight tube joins both ports in line."""
    a, b = run.start, run.end
    if a.elbow_deg or b.elbow_deg or a.axis is None:
        return False
    across = _face(b) - _face(a)
    along = float(across @ a.axis)
    if along <= 0 or float(np.linalg.norm(across - along * a.axis)) > _PLUMB_MM:
        return False
    return b.axis is None or float(b.axis @ a.axis) < -0.9999


def _ways_out(end: End, other: End) -> list[Vector]:
    """Directions in which a tube may leave an end: along its axis, or out of its elbow; any when nothing says which."""
    if end.axis is None:
        return list(_AXES)
    if end.elbow_deg == 90.0:
        return [axis for axis in _AXES if abs(float(axis @ end.axis)) < 0.5]
    nearest = max(_AXES, key=lambda axis: float(axis @ end.axis))
    return [nearest if float(nearest @ end.axis) > 0.9999 else unit(end.axis)]


def _room(
    document: Document,
    run: Run,
    around: Sequence[Body],
    others: Sequence[Run],
    clearance: float,
    floor: tuple[float, float, float, float],
) -> _Room:
    grow = run.outer_mm / 2 + clearance
    lows, highs = [], []
    owners = held_by(document, run.start.ref) | held_by(document, run.end.ref)
    for body in around:
        if body.kind == "parts" and body.id in owners:
            continue
        # Its own devices it may touch at the port: there only the tube's half width counts, less a hair.
        room = run.outer_mm / 2 if body.id in owners and body.kind != "board" else grow
        if body.id in owners and body.kind in ("device", "plate"):
            for low, high in (_opened(*tile, run, room) for tile in body.tiles()):
                lows.append(low)
                highs.append(high)
            continue
        for low, high in body.tiles():
            lows.append(low - room)
            highs.append(high + room)
    for other in others:
        if other.id == run.id and other.kind == run.kind:
            continue
        for a, b in itertools.pairwise(other.line.points(15.0)):
            pieces = 1 if np.count_nonzero(np.abs(b - a) > 1e-6) <= 1 else 4
            for i in range(pieces):
                c, d = a + (b - a) * i / pieces, a + (b - a) * (i + 1) / pieces
                lows.append(np.minimum(c, d) - other.outer_mm / 2 - grow)
                highs.append(np.maximum(c, d) + other.outer_mm / 2 + grow)
    left, front, right, rear = floor
    least, most = np.array([left, front, 0.0]) + grow, np.array([right, rear, 1e4]) - grow
    return _Room(np.array(lows).reshape(-1, 3), np.array(highs).reshape(-1, 3), least, most)


def _opened(low: Vector, high: Vector, run: Run, room: float) -> tuple[Vector, Vector]:
    """A tube's own device, grown by its half width but not over the side that its port opens through."""
    low, high = low - room, high + room
    for end in (run.start, run.end):
        if end.axis is None or (end.at < low).any() or (end.at > high).any():
            continue
        axis = int(np.argmax(np.abs(end.axis)))
        if end.axis[axis] > 0:
            high[axis] = min(high[axis], end.at[axis] - 1e-3)
        else:
            low[axis] = max(low[axis], end.at[axis] + 1e-3)
    return low, high


def _two_bends(
    start: Vector, out: Vector, goal: Vector, back: Vector, radius: float, straight: float, room: _Room
) -> tuple[int, float, list[Vector]] | None:
    """The shortest course out along ``out``, straight across, and in against ``back``, if one is free."""
    rises = radius + straight + np.array([0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0]) * radius
    level = (
        [float((goal + t * back - start) @ out) for t in rises],
        [float((start + t * out - goal) @ back) for t in rises],
    )
    firsts = sorted({round(t, 6) for t in (*rises, *level[0]) if t > straight})
    seconds = sorted({round(t, 6) for t in (*rises, *level[1]) if t > straight})
    found = []
    for t, u in itertools.product(firsts, seconds):
        a, b = start + t * out, goal + u * back
        across = b - a
        span = float(np.linalg.norm(across))
        if span < 1e-6:
            continue
        turns = [math.acos(float(np.clip(v @ across / span, -1, 1))) for v in (out, -back)]
        if any(turn > 2.6 or turn < 1e-6 for turn in turns):
            continue
        setback = [radius * math.tan(turn / 2) for turn in turns]
        if (
            t < setback[0] + straight - 1e-6
            or u < setback[1] + straight - 1e-6
            or span < sum(setback) + straight - 1e-6
        ):
            continue
        if room.within(a) and room.within(b):
            found.append((t + u + span, [start, a, b, goal]))
    for length, corners in sorted(found, key=lambda pair: pair[0]):
        places = np.array(corners)
        if room.free(places[:-1], places[1:]).all():
            return 2, length, corners
    return None


def _to_come(at: Vector, way: Vector, goal: Vector, last: Vector) -> int:
    """The least number of bends that must still come before a tube runs along ``last`` into its goal."""
    across = goal - at
    along = float(way @ last)
    beside = across - float(across @ last) * last
    if along > 0.9999:
        return 0 if float(np.abs(beside).max()) < 1e-3 and float(across @ last) > 0 else 2
    if along < -0.9999:
        return 2
    further = float(beside @ way)
    third = beside - further * way
    if float(np.abs(third).max()) > 1e-3:
        return 2
    return 1 if further > -1e-3 else 3


def _search(
    start: Vector,
    out: Vector,
    goal: Vector,
    back: Vector,
    stub: float,
    leg: float,
    room: _Room,
    most: int,
) -> tuple[int, float, list[Vector]] | None:
    """(bends, length, corners) of the best way whose first leg runs along ``out`` and whose last comes in against
    ``back``; legs between two bends are ``leg`` long at least, the first and the last ``stub``; of ``most`` bends."""
    planes = [_planes(axis, start, goal, out, back, stub, leg, room) for axis in range(3)]
    last = -back
    count = itertools.count()
    queue: list[tuple[Any, ...]] = [(_to_come(start, out, goal, last), 0.0, next(count), 0, 0.0, start, out, ())]
    best: dict[tuple[float, ...], tuple[int, float]] = {}
    states = 0
    while queue and states < MOST_STATES:
        _, _, _, bends, length, at, way, trail = heapq.heappop(queue)
        key = (*np.round(at, 3), *np.round(way, 3))
        if best.get(key, (bends, length)) < (bends, length):
            continue
        states += 1
        if float(way @ last) > 0.9999:
            along = float((goal - at) @ way)
            aligned = float(np.linalg.norm(goal - at - along * way)) < 1e-3
            if aligned and along >= (stub if trail else 0.0) - 1e-6 and room.free(at[None], goal[None])[0]:
                return bends, length + along, [*trail, at, goal]
        for target, turn in _next(at, way, stub if not trail else leg, stub, planes, last, room):
            cost = (bends + 1, length + float(np.linalg.norm(target - at)))
            then = (*np.round(target, 3), *np.round(turn, 3))
            if cost[0] > most or best.get(then, (99, 0.0)) <= cost:
                continue
            best[then] = cost
            least = cost[0] + _to_come(target, turn, goal, last)
            if least <= most:
                remaining = float(np.abs(goal - target).sum())
                heapq.heappush(queue, (least, cost[1] + remaining, next(count), *cost, target, turn, (*trail, at)))
    return None


def _next(
    at: Vector, way: Vector, least: float, stub: float, planes: list[list[float]], last: Vector, room: _Room
) -> Iterator[tuple[Vector, Vector]]:
    """Corners that a leg along ``way`` may end at, with every direction to turn to there."""
    axis = int(np.argmax(np.abs(way)))
    if abs(way[axis]) < 0.9999:
        # A port at a slant: one stub along it, then along the axes.
        targets = [at + stub * way]
    else:
        sign = 1.0 if way[axis] > 0 else -1.0
        targets = []
        for plane in sorted(planes[axis], key=lambda plane: sign * plane):
            if sign * (plane - at[axis]) >= least - 1e-6:
                target = at.copy()
                target[axis] = plane
                targets.append(target)
    if not targets:
        return
    ends = np.array(targets)
    open_ = room.free(np.repeat(at[None], len(ends), axis=0), ends)
    for target, free in zip(targets, open_, strict=True):
        if not free:
            return  # what lies beyond is behind the same box
        if not room.within(target):
            continue
        for turn in (*_AXES, last):
            if -0.05 <= float(turn @ way) <= 0.9999:
                yield target, turn


def _planes(
    axis: int, start: Vector, goal: Vector, out: Vector, back: Vector, stub: float, leg: float, room: _Room
) -> list[float]:
    """Where corners may lie along one axis: level with the ends, a stub off them, beside every box on the way."""
    places = {
        round(float(v), 6) for v in (start[axis], goal[axis], (start + stub * out)[axis], (goal + stub * back)[axis])
    }
    for end in (start, goal):
        places |= {round(float(end[axis] + d), 6) for d in (-leg, leg)}
    if len(room.low):
        low, high = np.minimum(start, goal) - 2 * stub - leg, np.maximum(start, goal) + 2 * stub + leg
        near = ((room.low <= high) & (room.high >= low)).all(axis=1)
        beside = [*room.low[near, axis], *room.high[near, axis]]
        middle = (start[axis] + goal[axis]) / 2
        # The nearest of many: a hundred tubes must not make a million corners.
        beside.sort(key=lambda v: abs(float(v) - middle))
        places |= {round(float(v), 6) for v in beside[:_MOST_PLANES]}
    return sorted(
        v for v in places if room.least[axis] - 1e-6 <= v <= room.most[axis] + 1e-6 or v == round(float(start[axis]), 6)
    )
