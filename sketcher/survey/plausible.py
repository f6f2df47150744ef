"""Is this the floor of a computer case? A survey can agree with itself and still be in the wrong unit.

Sizes are common practice, no source: the smallest case floors are some 100 mm across, the largest some 700.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from sketcher.survey.adjustment import Adjustment

#: A floor that is less than this across, or more, is asked about, mm.
SMALLEST, LARGEST = 70.0, 1500.0
#: A reading longer than this is asked about, mm: the diagonal of the largest floor.
LONGEST = LARGEST * math.sqrt(2.0)
#: So many readings of one value, and this share of all, are asked about when they contradict each other.
ALIKE, ALIKE_SHARE = 5, 0.7
#: A corner of the floor sharper than this is asked about, degrees.
SHARP_DEG = 20.0


def size_of(adjusted: Adjustment, corners: Sequence[str] = ()) -> tuple[float, float] | None:
    """Width and depth of the floor's corners, or of all points where none are named, mm; None with fewer than three."""
    ring = _ring(adjusted, corners)
    return None if len(ring) < 3 else (float(np.ptp(ring[:, 0])), float(np.ptp(ring[:, 1])))


def doubts(
    adjusted: Adjustment, corners: Sequence[str] = (), units: Mapping[str, float] | None = None
) -> tuple[str, ...]:
    """What is odd about the floor's size and shape, in words that ask; none when it could be one.

    Args:
        adjusted: the survey.
        corners: of the floor's outline, where it was named.
        units: other units that the readings may have been in, by name, each with how much larger it makes the floor;
            None when the size is asked about elsewhere.
    """
    said = _odd_values(adjusted)
    ring, size = _ring(adjusted, corners), size_of(adjusted, corners)
    if size is None:
        return tuple(said)
    what = "floor" if corners else "survey"
    if units is not None and (words := _odd_size(size, units)):
        said.append(f"The {what} comes out {size[0]:.0f} × {size[1]:.0f} mm, {words}")
    if corners and len(ring) == len(corners):
        sharp = [name for name, angle in zip(corners, _angles(ring), strict=True) if angle < SHARP_DEG]
        if sharp:
            said.append(
                f"The floor comes out folded, with a corner sharper than {SHARP_DEG:.0f}° at {' and '.join(sharp)}: "
                "look for a reading between its corners that is far too short, or for corners named out of order."
            )
    return tuple(said)


def _odd_values(adjusted: Adjustment) -> list[str]:
    """Readings that no case has, and one value that was typed again and again."""
    plane = [o for o in adjusted.network.observations if o.kind not in ("diameter", "height")]
    said = []
    long = [o for o in plane if o.value > LONGEST]
    if 0 < len(long) < len(plane):
        names = ", ".join(o.id for o in long[:6]) + (f" and {len(long) - 6} more" if len(long) > 6 else "")
        one = len(long) == 1
        said.append(
            f"{names} {'reads' if one else 'read'} {max(o.value for o in long) / 1000:.1f} m"
            f"{'' if one else ' and less'}, longer than any case is: was a decimal point lost, or a unit mixed up?"
        )
    values = Counter(o.value for o in plane)
    value, count = max(values.items(), key=lambda entry: entry[1], default=(0.0, 0))
    if count >= max(ALIKE, ALIKE_SHARE * len(plane)) and (adjusted.suspects or not adjusted.agrees):
        said.append(
            f"{count} of {len(plane)} readings are {value:g} mm, and they contradict each other: was one value typed "
            "again and again?"
        )
    return said


def _odd_size(size: tuple[float, float], units: Mapping[str, float]) -> str:
    across = max(size)
    if SMALLEST <= across <= LARGEST:
        return ""
    if units:
        then = ", ".join(
            f"in {name} {'' if k else 'it would be '}{by * size[0]:.0f} × {by * size[1]:.0f} mm"
            for k, (name, by) in enumerate(units.items())
        )
        asked = f"were the readings in {' or '.join(units)}? {then[0].upper()}{then[1:]}."
    else:
        asked = "was a decimal point lost?"
    return f"{'small' if across < SMALLEST else 'large'} for a case: {asked}"


def _ring(adjusted: Adjustment, corners: Sequence[str]) -> np.ndarray:
    names = [name for name in (corners or [point.id for point in adjusted.points]) if name not in adjusted.loose]
    known = {point.id: point for point in adjusted.points}
    return np.array([[known[name].x, known[name].y] for name in names if name in known]).reshape(-1, 2)


def _angles(ring: np.ndarray) -> list[float]:
    angles = []
    for k in range(len(ring)):
        before, after = ring[k - 1] - ring[k], ring[(k + 1) % len(ring)] - ring[k]
        across = float(before[0] * after[1] - before[1] * after[0])
        angles.append(abs(math.degrees(math.atan2(across, float(before @ after)))))
    return angles
