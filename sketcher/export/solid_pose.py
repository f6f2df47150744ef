"""How a solid lies against ours: shifted, turned about any axis, mirrored, of another size.

Two features of ours that few others are like, with the direction of the first, make a frame in space; it is laid on
every pair of theirs that may be them. The place at which most of ours are found counts, and is fitted to all of those
(Kabsch 1976; Umeyama 1991).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.export.pose import SAME_MM, UNIT_SCALES, tree_of
from sketcher.export.solid_faces import Feature

Vector = NDArray[np.float64]
#: While a place is looked for, features nearer than this count as found, mm.
LOOSE_MM = 0.05
#: Features that frames are taken from, and pairs of theirs tried for each.
_ANCHORS, _PAIRS = 6, 60
#: A solid in which this share of ours is found is looked at no further.
ENOUGH = 0.9


@dataclass(frozen=True, eq=False)
class SpacePose:
    """Theirs = scale * turn @ ours + shift; ``turn`` is a rotation (3, 3), or one with a mirror in it."""

    turn: Vector
    shift: Vector
    scale: float = 1.0

    @property
    def mirrored(self) -> bool:
        """Whether it is the mirror image."""
        return bool(np.linalg.det(self.turn) < 0)

    @property
    def in_place(self) -> bool:
        """Whether it lies as ours does."""
        return bool(
            self.scale == 1.0 and np.allclose(self.turn, np.eye(3), atol=1e-6) and np.linalg.norm(self.shift) <= SAME_MM
        )

    def back(self, feature: Feature) -> Feature:
        """A feature of theirs as it would lie on ours."""
        turn = self.turn.T
        return feature.moved(turn, 1 / self.scale, -turn @ self.shift / self.scale)

    def turned(self) -> tuple[float, Vector]:
        """By how many degrees it is turned, 0 to 180, and about which axis; of a mirrored one, after a mirror that
        swaps left and right."""
        turn = self.turn @ np.diag([-1.0, 1.0, 1.0]) if self.mirrored else self.turn
        angle = math.degrees(math.acos(min(max((float(np.trace(turn)) - 1) / 2, -1.0), 1.0)))
        values, vectors = np.linalg.eig(turn)
        axis = np.real(vectors[:, int(np.argmin(np.abs(values - 1)))])
        skew = np.array([turn[2, 1] - turn[1, 2], turn[0, 2] - turn[2, 0], turn[1, 0] - turn[0, 1]])
        if float(axis @ skew) < 0 or (np.linalg.norm(skew) < 1e-9 and axis[np.argmax(np.abs(axis))] < 0):
            axis = -axis
        return (0.0 if angle < 1e-4 else angle), axis / np.linalg.norm(axis)


def find_space_pose(ours: Sequence[Feature], theirs: Sequence[Feature], ratio: float) -> tuple[SpacePose, int]:
    """The pose at which most of ours are found among theirs, and how many of ours are.

    Args:
        ours, theirs: the features.
        ratio: how many times as large theirs is by its volume's cube root: a first guess.
    """
    best = SpacePose(np.eye(3), np.zeros(3))
    if not ours or not theirs:
        return best, 0
    there = _Table(theirs)
    one = _Table(ours)
    most = one.found(there, best, LOOSE_MM)
    for scale in _scales(ratio):
        if most >= ENOUGH * len(ours):
            break
        for pose in _poses(ours, theirs, one, there, scale):
            count = one.found(there, pose, LOOSE_MM)
            if count > most:
                best, most = pose, count
                if most >= ENOUGH * len(ours):
                    break
    best = _fitted(one, there, best)
    return best, one.found(there, best, 2 * SAME_MM)


class _Table:
    """Features as rows: place, and what stays when they are moved."""

    def __init__(self, features: Sequence[Feature]) -> None:
        self.at = np.array([feature.at for feature in features])
        self.like = np.array([feature.signature() for feature in features])
        self.tree = tree_of(np.column_stack([self.at, self.like]))

    def laid(self, pose: SpacePose) -> Vector:
        """The rows as they would lie in theirs."""
        places = pose.scale * self.at @ pose.turn.T + pose.shift
        return np.column_stack([places, self.like[:, 0], self.like[:, 1:] * pose.scale])

    def matched(self, there: _Table, pose: SpacePose, within: float) -> tuple[Vector, NDArray[np.intp]]:
        """How far each is from the nearest of theirs that is like it, and which that is."""
        far, near = there.tree.query(self.laid(pose), p=np.inf, distance_upper_bound=within * pose.scale)
        return np.asarray(far), np.asarray(near)

    def found(self, there: _Table, pose: SpacePose, within: float) -> int:
        """How many are found."""
        return int(np.isfinite(self.matched(there, pose, within)[0]).sum())

    def rare(self) -> list[int]:
        """Numbers of those that few others are like, the largest of those first."""
        tree = tree_of(self.like)
        alike = tree.query_ball_point(self.like, 5 * SAME_MM, p=np.inf, return_length=True)
        return sorted(range(len(self.like)), key=lambda i: (alike[i], -self.like[i, 1]))


def _scales(ratio: float) -> Iterator[float]:
    """Sizes to try: ours, then the unit that the volume speaks for, then what it says itself."""
    units = sorted(UNIT_SCALES, key=lambda unit: abs(math.log(ratio / unit)))
    yield from dict.fromkeys([1.0, *(unit for unit in units[:2] if abs(math.log(ratio / unit)) < 0.3), ratio])


def _poses(
    ours: Sequence[Feature], theirs: Sequence[Feature], one: _Table, there: _Table, scale: float
) -> Iterator[SpacePose]:
    """Mere shifts, then turned ones, then mirrored ones."""
    rare = [i for i in one.rare() if ours[i].kind in ("round", "flat")][:_ANCHORS]
    alike = tree_of(there.like)
    like = {
        i: alike.query_ball_point(
            one.like[i] * np.array([1.0, scale, scale]), max(5 * SAME_MM * scale, 0.002), p=np.inf
        )[:_PAIRS]
        for i in rare
    }
    for i in rare:
        for k in like[i]:
            yield SpacePose(np.eye(3), theirs[k].at - scale * ours[i].at, scale)
    mirrors: list[SpacePose] = []
    for i, j in itertools.permutations(rare, 2):
        apart = ours[j].at - ours[i].at
        across = np.linalg.norm(np.cross(apart, ours[i].way))
        if across < 5.0:
            continue
        pairs = 0
        for k, m in itertools.product(like[i], like[j]):
            between = theirs[m].at - theirs[k].at
            if k == m or abs(np.linalg.norm(between) - scale * np.linalg.norm(apart)) > 0.1 * scale:
                continue
            pairs += 1
            if pairs > _PAIRS:
                break
            signs = (1.0,) if ours[i].kind == "flat" else (1.0, -1.0)
            for sign in signs:
                from_, to = _frame(ours[i].way, apart), _frame(sign * theirs[k].way, between)
                for flip in (1.0, -1.0):
                    turn = to @ np.diag([1.0, 1.0, flip]) @ from_.T
                    pose = SpacePose(turn, theirs[k].at - scale * turn @ ours[i].at, scale)
                    if flip > 0:
                        yield pose
                    else:
                        mirrors.append(pose)
    yield from mirrors


def _frame(way: Vector, towards: Vector) -> Vector:
    """Axes whose first is ``way``, and whose second points as much ``towards`` as it can."""
    second = towards - (towards @ way) * way
    second = second / (np.linalg.norm(second) or 1.0)
    return np.column_stack([way, second, np.cross(way, second)])


def _fitted(ours: _Table, theirs: _Table, pose: SpacePose) -> SpacePose:
    """The pose fitted to all that is found; quarter turns and the sizes of units are taken as such."""
    for within in (LOOSE_MM, 3 * SAME_MM, 2 * SAME_MM):
        far, near = ours.matched(theirs, pose, within)
        good = np.isfinite(far)
        if int(good.sum()) < 4:
            return pose
        a, b = ours.at[good], theirs.at[near[good]]
        a0, b0 = a - a.mean(axis=0), b - b.mean(axis=0)
        u, sizes, v = np.linalg.svd(b0.T @ a0)
        if sizes[1] < 1e-6:
            return pose
        hand = np.diag([1.0, 1.0, float(np.sign(np.linalg.det(u @ v))) * (-1.0 if pose.mirrored else 1.0)])
        turn = u @ hand @ v
        scale = float((sizes * np.diag(hand)).sum() / (a0**2).sum())
        scale = next((unit for unit in UNIT_SCALES if abs(scale / unit - 1) < 2e-5), scale)
        square = np.round(turn)
        turn = square if np.abs(turn - square).max() < 2e-5 else turn
        pose = SpacePose(turn, np.median(b - scale * a @ turn.T, axis=0), scale)
    return pose
