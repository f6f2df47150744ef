"""Parts of a survey that can be turned over about a line without any reading noticing.

When two points are all that joins a part of the network to the rest, the part may be mirrored about their line: every
distance, offset and distance along a wall stays as it is. The commonest case is a single point with two distances.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sketcher.survey.readings_network import Array, Network


def turned_over(network: Network, state: Array) -> Iterator[tuple[tuple[str, ...], Array]]:
    """Every part that hangs on two points, with the state in which it is mirrored about their line.

    The part that the datum holds is never the one that is mirrored.
    """
    count = len(network.points)
    neighbours = _neighbours(network)
    frame = _frame(network)
    everything = (1 << count) - 1
    plane = state[: 2 * count].reshape(-1, 2)
    for one in range(count):
        for other in range(one + 1, count):
            cut = (1 << one) | (1 << other)
            rest = everything & ~cut
            if not rest:
                continue
            seeds = frame & rest or rest & -rest
            main = _reach(neighbours, seeds, rest)
            left = rest & ~main
            while left:
                part = _reach(neighbours, left & -left, rest)
                left &= ~part
                members = [k for k in range(count) if part >> k & 1]
                mirrored = _mirror(plane, members, one, other)
                if mirrored is not None:
                    turned = state.copy()
                    turned[: 2 * count] = mirrored.ravel()
                    yield tuple(network.points[k] for k in members), turned


def _neighbours(network: Network) -> list[int]:
    number = {name: k for k, name in enumerate(network.points)}
    neighbours = [0] * len(network.points)
    for observation in network.observations:
        touched = 0
        for name in observation.all_points:
            touched |= 1 << number[name]
        for name in observation.all_points:
            neighbours[number[name]] |= touched
    frame = _frame(network)
    for k in range(len(network.points)):
        if frame >> k & 1:
            neighbours[k] |= frame
    return neighbours


def _frame(network: Network) -> int:
    """The points that are tied to the axes themselves: the datum's, and those whose coordinates were read."""
    names = {name for name, _ in network.fixed} | {o.points[0] for o in network.observations if o.kind in ("x", "y")}
    return sum(1 << k for k, name in enumerate(network.points) if name in names)


def _reach(neighbours: list[int], seeds: int, within: int) -> int:
    reached, fresh = seeds, seeds
    while fresh:
        grown = 0
        while fresh:
            low = fresh & -fresh
            grown |= neighbours[low.bit_length() - 1]
            fresh ^= low
        fresh = grown & within & ~reached
        reached |= fresh
    return reached


def _mirror(plane: Array, members: list[int], one: int, other: int) -> Array | None:
    axis = plane[other] - plane[one]
    length = float(np.hypot(*axis))
    if length < 1e-6:
        return None
    normal = np.array([-axis[1], axis[0]]) / length
    off = (plane[members] - plane[one]) @ normal
    if float(np.max(np.abs(off))) < 0.5:  # it lies on the line; mirrored it is where it was
        return None
    mirrored = plane.copy()
    mirrored[members] -= 2 * off[:, None] * normal
    return mirrored
