"""How a drawing lies against ours as a whole: shifted, turned by any angle, mirrored, of another size.

Two contours of ours that few others are like are laid on every pair of theirs that may be them; the place at which most
of ours are found counts, and is then fitted to all of those (Umeyama 1991).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely import affinity

from sketcher.export.contours import Feature
from sketcher.geometry.path import Point

Array = NDArray[np.float64]

#: Places, diameters and outlines nearer than this are the same, mm.
SAME_MM = 0.01
#: While a place is looked for, contours nearer than this count as found, mm.
LOOSE_MM = 0.06
#: A drawing in which this share of ours is found where it is, or merely shifted, is looked for no further.
ENOUGH = 0.8
#: Sizes by which drawings come back wrong: inches, centimetres, metres taken for millimetres, and the other way round.
UNIT_SCALES = (1.0, 25.4, 1 / 25.4, 10.0, 0.1, 1000.0, 0.001)
#: A size nearer to a unit's than this part is that unit's.
SAME_SIZE = 2e-5
#: Contours that a place is taken from, and places tried for each.
_ANCHORS, _PLACES = 8, 40


@dataclass(frozen=True)
class Pose:
    """Theirs = scale * turn * (mirror front to rear, when ``mirrored``) of ours, then shifted, mm."""

    shift: Point = (0.0, 0.0)
    turn_deg: float = 0.0
    mirrored: bool = False
    scale: float = 1.0

    @property
    def only_shifted(self) -> bool:
        """Whether it is neither turned nor mirrored nor of another size."""
        return not self.mirrored and self.scale == 1.0 and self.turn_deg == 0.0

    def factor(self) -> complex:
        """Scale and turn as a complex number."""
        angle = math.radians(self.turn_deg)
        return self.scale * complex(math.cos(angle), math.sin(angle))

    def back(self, feature: Feature) -> Feature:
        """A contour of theirs as it would lie on our sheet."""
        if self.only_shifted:
            return feature.moved(-self.shift[0], -self.shift[1])
        inverse = 1 / self.factor()
        sign = -1.0 if self.mirrored else 1.0
        # z = (z' - shift) / factor, and its conjugate when mirrored
        a, b = inverse.real, -inverse.imag
        d, e = sign * inverse.imag, sign * inverse.real
        dx, dy = self.shift
        matrix = [a, b, d, e, -(a * dx + b * dy), -(d * dx + e * dy)]
        x, y = feature.at
        at = (a * x + b * y + matrix[4], d * x + e * y + matrix[5])
        ring = feature.ring and affinity.affine_transform(feature.ring, matrix)
        return replace(feature, at=at, size=feature.size / self.scale, ring=ring, flat=feature.flat / self.scale)


def tree_of(places: Array) -> Any:
    """A tree of places. ``scipy.spatial`` takes long to import, and only a returned drawing needs it."""
    from scipy.spatial import cKDTree

    return cKDTree(places)


def find_pose(ours: Sequence[Feature], theirs: Sequence[Feature]) -> tuple[Pose, int]:
    """The pose at which most of ours are found among theirs, and how many. A mere shift is preferred."""
    shift, found = whole_shift(ours, theirs)
    if found >= ENOUGH * len(ours) or len(ours) < 2 or len(theirs) < 2:
        return Pose(shift), found
    best, most = Pose(shift), found
    one, other = _table(ours), _table(theirs)
    tree = tree_of(other)
    for scale in _scales(one, other):
        for pose in _placings(one, other, scale):
            count = int(np.isfinite(_found(one, tree, pose, LOOSE_MM)[0]).sum())
            if count > most:
                best, most = pose, count
        if most >= ENOUGH * len(ours):
            break
    if best.only_shifted:
        return best, found
    refined = _refined(one, other, tree, best)
    most = int(np.isfinite(_found(one, tree, refined, 2 * SAME_MM)[0]).sum())
    return (refined, most) if most > found + max(1, 0.1 * len(ours)) else (Pose(shift), found)


def whole_shift(ours: Sequence[Feature], theirs: Sequence[Feature]) -> tuple[Point, int]:
    """How far theirs sits from ours as a whole, mm, and how many contours of ours are found there.

    Each of the contours that few others are like is laid on each of theirs that are like it; the place at which most
    of ours are found counts. No shift is preferred to any that finds no more.
    """
    if not ours or not theirs:
        return (0.0, 0.0), 0
    table, there = _table(ours), _table(theirs)
    tree = tree_of(there)
    shifts = [(0.0, 0.0)]
    for i in _rare(table):
        places = [t.at for t in theirs if t.round == ours[i].round and abs(t.size - ours[i].size) <= 5 * SAME_MM]
        shifts += [(x - ours[i].at[0], y - ours[i].at[1]) for x, y in places[:_PLACES]]
    best, most = (0.0, 0.0), -1
    for shift in dict.fromkeys(shifts):
        far, near = tree.query(table + np.array([*shift, 0.0, 0.0]), p=np.inf, distance_upper_bound=SAME_MM)
        found = np.isfinite(far)
        if int(found.sum()) > most:
            most = int(found.sum())
            # The contour that it was laid on may itself be off by a little: most of them are not.
            off = there[np.asarray(near)[found], :2] - table[found, :2]
            best = (0.0, 0.0) if shift == (0.0, 0.0) else (float(np.median(off[:, 0])), float(np.median(off[:, 1])))
    return (best if math.hypot(*best) > SAME_MM else (0.0, 0.0)), most


def _table(features: Sequence[Feature]) -> Array:
    """Middle, size and whether it is round, a row for each."""
    return np.array([(*f.at, f.size, 1e6 * f.round) for f in features])


def _rare(table: Array) -> list[int]:
    """Numbers of the contours that few others are like, the largest of those first."""
    alike = tree_of(table[:, 2:]).query_ball_point(table[:, 2:], 5 * SAME_MM, p=np.inf, return_length=True)
    return sorted(range(len(table)), key=lambda i: (alike[i], -table[i, 2]))[:_ANCHORS]


def _scales(ours: Array, theirs: Array) -> Iterator[float]:
    """Sizes to try: those of units, then what the largest contours of both say."""
    yield from UNIT_SCALES
    large = [np.sort(table[:, 2])[::-1][:4] for table in (ours, theirs)]
    ratios = {round(float(b / a), 6) for a in large[0] for b in large[1] if a > 0 and b > 0}
    yield from (ratio for ratio in sorted(ratios, key=lambda r: abs(math.log(r))) if ratio not in UNIT_SCALES)


def _placings(ours: Array, theirs: Array, scale: float) -> Iterator[Pose]:
    """Every pose of this size that lays two rare contours of ours on two of theirs; not mirrored ones first."""
    sizes = tree_of(theirs[:, 2:])
    rare = _rare(ours)
    poses: list[list[Pose]] = [[], []]
    for i in rare[:3]:
        apart = [j for j in rare if math.dist(ours[i, :2], ours[j, :2]) > 5.0]
        for j in apart[:2]:
            want = scale * math.dist(ours[i, :2], ours[j, :2])
            reach = max(5 * SAME_MM * scale, 0.005)
            firsts, seconds = (
                sizes.query_ball_point([scale * ours[n, 2], ours[n, 3]], reach, p=np.inf)[:_PLACES] for n in (i, j)
            )
            for k in firsts:
                for m in seconds:
                    if k == m or abs(math.dist(theirs[k, :2], theirs[m, :2]) - want) > reach:
                        continue
                    for mirrored in (False, True):
                        poses[mirrored].append(_laid(ours[[i, j]], theirs[[k, m]], scale, mirrored))
    yield from poses[0]
    yield from poses[1]


def _laid(ours: Array, theirs: Array, scale: float, mirrored: bool) -> Pose:
    a, b = (complex(*row[:2]) for row in ours)
    c, d = (complex(*row[:2]) for row in theirs)
    if mirrored:
        a, b = a.conjugate(), b.conjugate()
    turn = (d - c) / (b - a)
    turn /= abs(turn)
    middle = (c + d) / 2 - scale * turn * (a + b) / 2
    return Pose((middle.real, middle.imag), math.degrees(math.atan2(turn.imag, turn.real)), mirrored, scale)


def _laid_out(table: Array, pose: Pose) -> Array:
    z = table[:, 0] + 1j * table[:, 1]
    z = pose.factor() * (z.conjugate() if pose.mirrored else z) + complex(*pose.shift)
    return np.column_stack((z.real, z.imag, pose.scale * table[:, 2], table[:, 3]))


def _found(ours: Array, tree: Any, pose: Pose, within: float) -> tuple[Array, NDArray[np.int_]]:
    far, near = tree.query(_laid_out(ours, pose), p=np.inf, distance_upper_bound=max(within * pose.scale, 0.003))
    return np.asarray(far), np.asarray(near)


def _refined(ours: Array, theirs: Array, tree: Any, pose: Pose) -> Pose:
    """The pose fitted to all contours that are found; turns by whole quarters and sizes of units are taken as such."""
    for within in (LOOSE_MM, 3 * SAME_MM, 2 * SAME_MM):
        far, near = _found(ours, tree, pose, within)
        good = np.isfinite(far)
        if int(good.sum()) < 2:
            return pose
        a = ours[good, 0] + 1j * ours[good, 1]
        a = a.conjugate() if pose.mirrored else a
        b = theirs[near[good], 0] + 1j * theirs[near[good], 1]
        spin = complex(((b - b.mean()) * (a - a.mean()).conjugate()).sum())
        size = float((np.abs(a - a.mean()) ** 2).sum())
        if size < 1e-9 or abs(spin) < 1e-9:
            return pose
        scale = abs(spin) / size
        scale = next((unit for unit in UNIT_SCALES if abs(scale / unit - 1) < SAME_SIZE), scale)
        turn = math.degrees(math.atan2(spin.imag, spin.real))
        turn = round(turn / 90) * 90.0 if abs(turn - round(turn / 90) * 90) < 2e-3 else turn
        turn = 180.0 if turn == -180.0 else turn + 0.0
        fitted = Pose((0.0, 0.0), turn, pose.mirrored, scale)
        rest = b - fitted.factor() * a
        pose = replace(fitted, shift=(float(np.median(rest.real)), float(np.median(rest.imag))))
    return pose


def way(shift: Point) -> str:
    """A shift in words: ``50.000 mm left and 12.500 mm rear``."""
    parts = [
        f"{abs(value):.3f} mm {plus if value > 0 else minus}"
        for value, plus, minus in zip(shift, ("right", "rear"), ("left", "front"), strict=True)
        if abs(value) > SAME_MM / 2
    ]
    return " and ".join(parts)


def turned(pose: Pose) -> str:
    """How a pose is turned and mirrored, in words; nothing when it is neither."""
    turn = pose.turn_deg
    if pose.mirrored:
        straight = {0.0: "mirrored front to rear", 180.0: "mirrored left to right",
                    90.0: "mirrored and turned a quarter",
                    -90.0: "mirrored and turned a quarter the other way"}  # fmt: skip
        return straight.get(turn) or f"mirrored front to rear and turned {_angle(turn)}"
    straight = {
        0.0: "",
        180.0: "turned by half",
        90.0: "turned a quarter to the left",
        -90.0: "turned a quarter to the right",
    }
    return straight[turn] if turn in straight else f"turned {_angle(turn)}"


def sized(pose: Pose) -> str:
    """The size of a drawing by ours, in words; nothing when it is the same."""
    return sized_words(pose.scale)


def sized_words(scale: float) -> str:
    """How many times as large as ours, in words; nothing when it is the same."""
    known = {
        25.4: "25.4 times as large: inches were taken for millimetres",
        1 / 25.4: "25.4 times smaller: its numbers are inches, whatever its header says",
        10.0: "10 times as large: a unit was mistaken", 0.1: "10 times smaller: its numbers are centimetres",
        1000.0: "1000 times as large: a unit was mistaken", 0.001: "1000 times smaller: its numbers are metres",
    }  # fmt: skip
    if scale == 1.0:
        return ""
    unit = next((words for size, words in known.items() if abs(scale / size - 1) < SAME_SIZE), "")
    return unit or f"{100 * scale:.3f} % of its true size"


def _angle(turn: float) -> str:
    return f"{abs(turn):.2f}° to the {'left' if turn > 0 else 'right'}"
