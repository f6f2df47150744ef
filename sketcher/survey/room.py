"""What is known about a floor besides its readings: first guesses, the outline's corners, and on which side of a wall
the floor lies.

Readings often fit two places equally well. A point lies inside the outline, an offset counts inwards from its wall, and
nothing lies in front of the front wall or left of the left one: what speaks against that is a doubt. Doubts only decide
between placements that the readings allow alike. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from sketcher.survey.first_places import OUTSIDE, guess_doubt
from sketcher.survey.loci import Place
from sketcher.survey.readings_network import Array, Network

#: A wall's frame points may lie this far on its other side and still count as on the same side, mm.
SAME_SIDE = 5.0
#: The datum's point on the x axis lies in front of the origin, not behind it: no placement may have it otherwise.
IMPOSSIBLE = 1000.0


@dataclass(frozen=True)
class Room:
    """``guesses``: places the user named; ``corners``: the floor's corners in order, none when no outline is named;
    ``loose``: points that no reading holds, whose chance places say nothing."""

    guesses: Mapping[str, Place] = field(default_factory=dict)
    corners: tuple[str, ...] = ()
    loose: frozenset[str] = frozenset()

    def doubt(self, network: Network, state: Array) -> float:
        """How much speaks against a placement that the readings allow: about 1 for each point or offset."""
        count = len(network.points)
        plane = state[: 2 * count].reshape(-1, 2)
        number = {name: k for k, name in enumerate(network.points)}
        doubt = 0.0
        for name, at in self.guesses.items():
            if name in number and name not in self.loose:
                doubt += guess_doubt((float(plane[number[name], 0]), float(plane[number[name], 1])), at)
        for name, axis in network.fixed:
            if axis == "y" and (name, "x") not in network.fixed and plane[number[name], 0] < 0.0:
                doubt += IMPOSSIBLE
        unguessed = np.array([n not in self.guesses and n not in self.loose for n in network.points], dtype=bool)
        ring = [number[name] for name in self.corners if name in number]
        known = len(ring) >= 3 and len(ring) == len(self.corners)
        if known:
            outside = _too_far(_outside(plane[ring], plane))
            outside[ring] = 0.0
            doubt += float(outside[unguessed].sum()) + float(_crossings(plane[ring]))
            # The datum's frame: with the front wall at the origin the floor lies behind it.
            doubt += float(_too_far(-plane[ring].min(axis=1))[unguessed[ring]].sum()) / 2
        else:
            doubt += float(_too_far(-plane.min(axis=1))[unguessed].sum())
        if any(o.kind == "offset" for o in network.observations):
            doubt += self._outward(network, plane, number, ring if known else [])
        return doubt

    def _outward(self, network: Network, plane: Array, number: Mapping[str, int], ring: list[int]) -> float:
        """Offsets that would have been taken through their wall."""
        doubt = 0.0
        frame = sorted(
            {number[name] for o in network.observations for name in (o.wall or ())}
            | {number[name] for name, _ in network.fixed}
        )
        turn = np.sign(_area(plane[ring])) if ring else 0.0
        for observation in network.observations:
            if observation.kind != "offset" or observation.points[0] in self.guesses:
                continue
            if not self.loose.isdisjoint(observation.all_points):
                continue
            assert observation.wall is not None
            a, b = (number[name] for name in observation.wall)
            inwards = _edge_side(ring, a, b) * turn if ring else _frame_side(plane, a, b, frame)
            if inwards == 0.0:
                continue
            wall = plane[b] - plane[a]
            length = float(np.hypot(*wall))
            if length < 1.0:
                continue
            arm = plane[number[observation.points[0]]] - plane[a]
            across = float(wall[0] * arm[1] - wall[1] * arm[0]) / length
            along = float(wall @ arm) / length
            if -SAME_SIDE < along < length + SAME_SIDE:
                doubt += float(_too_far(np.array(-across * inwards)))
        return doubt


def _too_far(millimetres: Array) -> Array:
    """Doubt by how far a place is beyond where it may be: 0 up to 2 mm, rising to 1 at 10 mm.

    It rises smoothly, so that a tenth of a millimetre never decides between two placements.
    """
    return np.clip((millimetres - OUTSIDE) / (4 * OUTSIDE), 0.0, 1.0)


def _edge_side(ring: list[int], a: int, b: int) -> float:
    """1 when the outline runs from a to b along one edge, -1 from b to a, 0 when that is no edge of it."""
    if a in ring and b in ring:
        step = (ring.index(b) - ring.index(a)) % len(ring)
        if step == 1:
            return 1.0
        if step == len(ring) - 1:
            return -1.0
    return 0.0


def _frame_side(plane: Array, a: int, b: int, frame: list[int]) -> float:
    """On which side of a wall all other ends of walls lie: 1 left of a to b, -1 right, 0 on both or on none."""
    wall = plane[b] - plane[a]
    length = float(np.hypot(*wall))
    if length < 1.0:
        return 0.0
    arm = plane[frame] - plane[a]
    across = (wall[0] * arm[:, 1] - wall[1] * arm[:, 0]) / length
    left, right = float(across.max()), float(-across.min())
    if left > SAME_SIDE and right <= SAME_SIDE:
        return 1.0
    if right > SAME_SIDE and left <= SAME_SIDE:
        return -1.0
    return 0.0


def _area(ring: Array) -> float:
    x, y = ring[:, 0].tolist(), ring[:, 1].tolist()
    return float(0.5 * sum(x[k - 1] * y[k] - x[k] * y[k - 1] for k in range(len(x))))


def _outside(ring: Array, points: Array) -> Array:
    """How far each point lies outside a closed outline; 0 within it. Shapes (corners, 2), (n, 2) and (n,)."""
    start, end = ring[None, :, :], np.concatenate((ring[1:], ring[:1]))[None, :, :]
    p = points[:, None, :]
    above = (start[..., 1] > p[..., 1]) != (end[..., 1] > p[..., 1])
    rise = end[..., 1] - start[..., 1]
    x = start[..., 0] + (p[..., 1] - start[..., 1]) * (end[..., 0] - start[..., 0]) / np.where(rise == 0.0, 1.0, rise)
    inside = (above & (p[..., 0] < x)).sum(axis=1) % 2 == 1
    edge = end - start
    along = np.clip(((p - start) * edge).sum(axis=-1) / np.maximum((edge**2).sum(axis=-1), 1e-12), 0.0, 1.0)
    gap = np.sqrt((((start + along[..., None] * edge) - p) ** 2).sum(axis=-1)).min(axis=1)
    return np.where(inside, 0.0, gap)


def _crossings(ring: Array) -> int:
    """How often the edges of an outline cross each other."""
    corners = ring.tolist()
    count = len(corners)
    crossings = 0
    for i in range(count):
        a, b = corners[i], corners[(i + 1) % count]
        for j in range(i + 2, count - (i == 0)):
            c, d = corners[j], corners[(j + 1) % count]
            if _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0:
                crossings += 1
    return crossings


def _turn(a: Sequence[float], b: Sequence[float], c: Sequence[float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
