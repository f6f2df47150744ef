"""Slips in laying the test piece in, and in writing down what it showed.

A piece that lies turned over, or turned by a quarter or a half, reads hundreds of millimetres in a pattern of its own.
With the port at ``p`` and the piece laid in as ``L``, a reading along the case's axes is ``(I - L) p + t``, and one
along the piece's own axes ``(L' - I) p + t`` with ``L'`` the inverse of ``L``. Each slip is taken out of the readings,
and what is left is judged like any other trial; a slip is named when it explains them far better than none does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sketcher.trial.hypotheses import Explanation, RigidPiece, Table, explain

Array = NDArray[np.float64]
Kind = Literal["laid-in", "size", "swapped", "unit"]

#: Readings below this are not worth a search for a piece that lies wrong, mm.
LEAST_MM = 20.0
#: A slip must be likelier by this (-2 ln of the ratio, its own rarity of one in a hundred included).
BETTER = 6.0
RARE = 2 * math.log(100)
INCH_MM = 25.4
#: Two readings may miss one another's places by this and their labels are still taken for swapped, mm.
SWAP_MM = 10.0

_QUARTER = np.array([[0.0, -1.0], [1.0, 0.0]])
_MIRROR = np.diag([-1.0, 1.0])
#: How the piece may lie, and the matrix that takes its ports there.
LAID_IN: dict[str, Array] = {
    "turned by half": -np.eye(2),
    "turned a quarter to the left": _QUARTER,
    "turned a quarter to the right": _QUARTER.T,
    "turned over, left to right": _MIRROR,
    "turned over, front to rear": -_MIRROR,
    "turned over and turned a quarter to the left": _QUARTER @ _MIRROR,
    "turned over and turned a quarter to the right": _QUARTER.T @ _MIRROR,
    "cut 25.4 times too large: the file was read in inches": INCH_MM * np.eye(2),
    "cut 25.4 times too small: the file was read in inches": np.eye(2) / INCH_MM,
}


@dataclass(frozen=True)
class Slip:
    """One slip, in words; the ports that it concerns, none when it is the whole piece."""

    kind: Kind
    words: str
    ports: tuple[str, ...] = ()


#: In inches nobody reads finer than a hundredth: what rounding adds to the spread, mm.
#: A sixteenth is written with two or three decimals; a trial that is off by so much in inches is seen at once.
ROUNDED_SIXTEENTH, LARGEST_SIXTEENTHS = 0.0051, 2.0
ROUNDED_INCH_MM = 0.01 * INCH_MM / math.sqrt(12)
#: A second explanation of the whole piece is named beside the best when it is no less likely than this (-2 ln).
NEARLY = 30.0


def laid_in_wrong(table: Table, pieces: Sequence[RigidPiece], found: Sequence[Explanation]) -> list[str]:
    """How the piece lies, in the words of ``LAID_IN``: several when the readings fit more than one, none when it is
    right."""
    if not (np.nanmax(np.abs(table.measured), initial=0.0) > LEAST_MM and int(table.read.sum()) >= 4):
        return []
    usual = _roughness(table.measured)
    scores: dict[str, float] = {}
    for words, matrix in LAID_IN.items():
        score = _undone(table, pieces, matrix, usual)
        if score is not None:
            scores[words] = score + RARE
    best = min(scores.values(), default=math.inf)
    if best + BETTER > found[0].score:
        return []
    return [words for words, score in scores.items() if score < best + BETTER]


def laid_in_wrong_in_inches(table: Table, pieces: Sequence[RigidPiece], found: Sequence[Explanation]) -> list[str]:
    """How the piece may lie when all was read in inches besides; none when the readings are likelier without."""
    if not (np.nanmax(np.abs(table.measured), initial=0.0) > LEAST_MM / INCH_MM and int(table.read.sum()) >= 4):
        return []
    inches = replace(table, measured=table.measured * INCH_MM, sigma=np.hypot(table.sigma, ROUNDED_INCH_MM))
    usual, said = _roughness(inches.measured), []
    for words, matrix in LAID_IN.items():
        if "inches" not in words:
            score = _undone(inches, pieces, matrix, usual)
            if score is not None and score + 2 * RARE < found[0].score + NEARLY:
                said.append(words)
    return said


def _undone(table: Table, pieces: Sequence[RigidPiece], matrix: Array, usual: float) -> float | None:
    """Score of the readings once a way of lying is taken out of them, along the case's axes or the piece's own; None
    where it takes little out."""
    best = None
    for change in (np.eye(2) - matrix, np.linalg.inv(matrix) - np.eye(2)):
        undone = table.measured - table.arm @ change.T
        if _roughness(undone) <= 0.5 * usual:
            judged = explain(replace(table, measured=undone), pieces, ("right", "shifted", "turned"))
            best = min(math.inf if best is None else best, judged[0].score)
    return best


def _roughness(measured: Array) -> float:
    """How far readings lie from their own middle, mm: three quarters do at most, so that single ports do not count."""
    return float(np.nanquantile(np.abs(measured - np.nanmedian(measured, axis=0)), 0.75))


def size_of_print(found: Sequence[Explanation]) -> float | None:
    """The piece's size by its true one, when the readings say that it is another; none else."""
    chance = sum(one.chance for one in found if one.whole == "scaled")
    return 1.0 - found[0].scale if chance > 0.9 and found[0].whole == "scaled" else None


def swapped(names: Sequence[str], table: Table, whole: Array, off: Sequence[int]) -> list[Slip]:
    """Pairs of ports whose labels, tubes or lines were swapped.

    Args:
        names: the ports.
        table: what was read.
        whole: what each port should read when it is right, (ports, 2), mm.
        off: numbers of the ports that are off on their own.
    """
    slips = []
    for a, b in combinations(off, 2):
        way = table.arm[b] - table.arm[a]
        wide = 4 * float(np.hypot(table.sigma[a], table.sigma[b]))
        far = math.hypot(*way) > max(wide, 2 * SWAP_MM)
        own = [table.measured[k] - whole[k] for k in (a, b)]
        if far and _near((own[0] - way, own[1] + way), SWAP_MM):
            words = f"{names[a]} and {names[b]} look swapped: each was held against the other's tube or label."
            slips.append(Slip("swapped", words, (names[a], names[b])))
        elif far and _near((own[0] * INCH_MM - way, own[1] * INCH_MM + way), max(SWAP_MM / 5, wide)):
            words = (f"{names[a]} and {names[b]} look swapped and read in inches: each was held against the other's "
                     "tube or label.")  # fmt: skip
            slips.append(Slip("swapped", words, (names[a], names[b])))
        elif _near((table.measured[a] - whole[b], table.measured[b] - whole[a]), 0.75 * wide):
            words = f"The readings of {names[a]} and {names[b]} look swapped: exchanged, both fit the rest."
            slips.append(Slip("swapped", words, (names[a], names[b])))
    return slips


def mixed_up(names: Sequence[str], table: Table, whole: Array) -> list[Slip]:
    """Three or more ports that were each held against the next one's tube.

    Args:
        names: the ports.
        table: what was read.
        whole: what each port should read when it is right, (ports, 2), mm.
    """
    own = table.measured - whole
    held: dict[int, int] = {}
    for k in np.flatnonzero(np.isfinite(own).all(axis=1)):
        if math.hypot(*own[k]) > 2 * SWAP_MM:
            apart = np.hypot(*(table.arm[k] + own[k] - table.arm).T)
            nearest = int(np.argmin(apart))
            if nearest != k and apart[nearest] <= SWAP_MM:
                held[int(k)] = nearest
    slips, done = [], set[int]()
    for start in held:
        ring = [start]
        while ring[-1] in held and held[ring[-1]] not in ring:
            ring.append(held[ring[-1]])
        if len(ring) < 3 or held.get(ring[-1]) != start or done & set(ring):
            continue
        done |= set(ring)
        ports = tuple(names[k] for k in ring)
        pairs = ", ".join(f"{names[k]} against {names[held[k]]}'s" for k in ring)
        slips.append(Slip("swapped", f"The labels of {', '.join(ports[:-1])} and {ports[-1]} look mixed up, each held "
                          f"against another's tube: {pairs}.", ports))  # fmt: skip
    return slips


def looks_like_inches(readings: Sequence[float]) -> bool:
    """Whether every reading is small and a sixteenth, as a rule in inches shows it, few of them tenths: worth a
    question. Of four readings in mm with two decimals that is so by accident in one trial of a thousand."""
    values = np.abs(np.array([value for value in readings if value]))
    if len(values) < 4 or float(values.max()) >= LARGEST_SIXTEENTHS:
        return False
    sixteenths = np.abs(values * 16 - np.round(values * 16)) / 16 <= ROUNDED_SIXTEENTH
    tenths = np.abs(values * 10 - np.round(values * 10)) < 1e-6
    return bool(sixteenths.all()) and float(tenths.mean()) < 0.5


def _near(misses: Sequence[Array], within: float) -> bool:
    every = np.concatenate(misses)
    return int(np.isfinite(every).sum()) >= 2 and bool(np.nanmax(np.abs(every)) <= within)


def in_inches(name: str, reading: Array, spread: float, expected: Sequence[Array]) -> Slip | None:
    """The slip of a port that was read in inches among millimetres, or multiplied by 25.4 once too often.

    Args:
        name: the port.
        reading: what was read, (2,), mm; NaN where not.
        spread: of the reading, mm.
        expected: what it might read if it were right: with the whole, or with the ports it belongs to, (2,) each.
    """
    for factor, words in ((INCH_MM, "in inches"), (1 / INCH_MM, "in millimetres and taken for inches")):
        # A value in inches has its own rounding: a hundredth of an inch.
        within = 3 * spread + (0.01 * INCH_MM if factor > 1 else 0.0)
        for other in expected:
            changed = reading * factor
            if np.nanmax(np.abs(other)) < 5 * spread:
                continue  # a small value fits a port that is right, whatever its unit
            if np.nanmax(np.abs(changed - reading)) > 3 * within and np.nanmax(np.abs(changed - other)) <= within:
                return Slip("unit", f"{name} was probably read {words}: it would be {_pair(changed)} mm then, "
                            "which fits the rest.", (name,))  # fmt: skip
    return None


def _pair(values: Array) -> str:
    return " and ".join(f"{value:.1f}" for value in values if math.isfinite(value))
