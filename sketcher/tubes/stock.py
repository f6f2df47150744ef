"""Tube to buy: pieces cut from the lengths it is sold in, with the least to buy and the least left over.

Up to ten pieces the best cutting is found exactly, over all subsets; beyond that pieces are laid longest first into
the fullest length that still takes them (best fit decreasing is within 11/9 of the best plus one: Johnson 1973), and a
bound says how far from the best it can be.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

#: Up to so many pieces all ways to cut them are tried.
MOST_EXACT = 10
#: Width of a fine saw's cut, mm. Common practice, no source.
KERF_MM = 1.5


@dataclass(frozen=True)
class Cutting:
    """How pieces are cut.

    Attributes:
        lengths: (stock length, the pieces from it by name), mm.
        bought_mm: of all stock lengths.
        offcut_mm: left over, saw cuts not counted as left over.
        bound_mm: no cutting buys less than this.
        exact: whether this is the best.
        too_long: names of pieces longer than any stock length.
    """

    lengths: tuple[tuple[float, tuple[str, ...]], ...]
    bought_mm: float
    offcut_mm: float
    bound_mm: float
    exact: bool
    too_long: tuple[str, ...]


def cut(pieces: Sequence[tuple[str, float]], stock: Sequence[float], kerf: float = KERF_MM) -> Cutting:
    """The cutting that buys the least tube, and of those the one from the fewest lengths.

    Args:
        pieces: (name, length in mm).
        stock: lengths it is sold in, mm; any number of each.
        kerf: lost between two pieces, mm.
    """
    longest = max(stock, default=0.0)
    too_long = tuple(name for name, length in pieces if length > longest + 1e-9)
    fitting = sorted(((n, size) for n, size in pieces if n not in too_long), key=lambda piece: (-piece[1], piece[0]))
    if not fitting:
        return Cutting((), 0.0, 0.0, 0.0, True, too_long)
    total = sum(length for _, length in fitting)
    exact = len(fitting) <= MOST_EXACT
    groups = _exact(fitting, stock, kerf) if exact else _longest_first(fitting, stock, kerf)
    lengths = tuple((size, tuple(fitting[i][0] for i in members)) for size, members in groups)
    bought = sum(size for size, _ in lengths)
    sawn = sum(kerf * (len(members) - 1) for _, members in groups)
    bound = bought if exact else _bound(total, stock)
    return Cutting(lengths, bought, bought - total - sawn, bound, exact or bought <= bound + 1e-9, too_long)


Groups = list[tuple[float, tuple[int, ...]]]


def _smallest(need: float, stock: Sequence[float]) -> float | None:
    return min((size for size in stock if size >= need - 1e-9), default=None)


def _exact(pieces: Sequence[tuple[str, float]], stock: Sequence[float], kerf: float) -> Groups:
    """The best over all ways to part the pieces: for each subset the best first length that holds its longest piece."""
    count = len(pieces)
    whole = (1 << count) - 1
    size_of: list[float | None] = [None] * (whole + 1)
    for mask in range(1, whole + 1):
        members = [pieces[i][1] for i in range(count) if mask >> i & 1]
        size_of[mask] = _smallest(sum(members) + kerf * (len(members) - 1), stock)
    best: list[tuple[float, int, int]] = [(math.inf, 0, 0)] * (whole + 1)
    best[0] = (0.0, 0, 0)
    for mask in range(1, whole + 1):
        first = mask & -mask
        rest = mask ^ first
        part = rest
        while True:
            group = part | first
            size = size_of[group]
            if size is not None:
                cost, number, _ = best[mask ^ group]
                found = (cost + size, number + 1, group)
                if found[:2] < best[mask][:2]:
                    best[mask] = found
            if not part:
                break
            part = (part - 1) & rest
    groups: Groups = []
    mask = whole
    while mask:
        group = best[mask][2]
        size = size_of[group]
        assert size is not None
        groups.append((size, tuple(i for i in range(count) if group >> i & 1)))
        mask ^= group
    return groups


def _longest_first(pieces: Sequence[tuple[str, float]], stock: Sequence[float], kerf: float) -> Groups:
    longest = max(stock)
    groups: list[list[int]] = []
    used: list[float] = []
    for i, (_, length) in enumerate(pieces):
        fits = [j for j in range(len(groups)) if used[j] + kerf + length <= longest + 1e-9]
        if fits:
            j = max(fits, key=lambda j: used[j])
            groups[j].append(i)
            used[j] += kerf + length
        else:
            groups.append([i])
            used.append(length)
    return [(_smallest(need, stock) or longest, tuple(members)) for need, members in zip(used, groups, strict=True)]


def _bound(total: float, stock: Sequence[float]) -> float:
    """No sum of stock lengths below the pieces' own can do: the least sum of lengths that reaches it, on a grid."""
    step = math.gcd(*(max(round(size), 1) for size in stock))
    need = math.ceil((total - 1e-9) / step)
    reach = [0] + [-1] * (need + max(round(size) for size in stock) // step)
    for at in range(1, len(reach)):
        if any(at >= round(size) // step and reach[at - round(size) // step] == 0 for size in stock):
            reach[at] = 0
    return float(next(at for at in range(need, len(reach)) if reach[at] == 0) * step)
