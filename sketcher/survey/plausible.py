"""Is this the floor of a computer case? A survey can agree with itself and still be in the wrong unit.

Sizes are common practice, no source: the smallest case floors are some 100 mm across, the largest some 700.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sketcher.survey.adjustment import Adjustment

#: A floor that is less than this across, or more, is asked about, mm.
SMALLEST, LARGEST = 70.0, 1500.0
#: A corner of the floor sharper than this is asked about, degrees.
SHARP_DEG = 20.0


def doubts(adjusted: Adjustment, corners: Sequence[str] = ()) -> tuple[str, ...]:
    """What is odd about the floor's size and shape, in words that ask; none when it could be one."""
    names = [name for name in (corners or [point.id for point in adjusted.points]) if name not in adjusted.loose]
    known = {point.id: point for point in adjusted.points}
    ring = np.array([[known[name].x, known[name].y] for name in names if name in known])
    if len(ring) < 3:
        return ()
    said = []
    width, depth = (float(size) for size in np.ptp(ring, axis=0))
    across = max(width, depth)
    what = "floor" if corners else "survey"
    if across < SMALLEST:
        said.append(
            f"The {what} comes out {width:.0f} × {depth:.0f} mm, small for a case: were the readings in inches or "
            f"centimetres? In inches it would be {25.4 * width:.0f} × {25.4 * depth:.0f} mm, in centimetres "
            f"{10 * width:.0f} × {10 * depth:.0f} mm."
        )
    elif across > LARGEST:
        said.append(
            f"The {what} comes out {width:.0f} × {depth:.0f} mm, large for a case: was a decimal point lost, or "
            "millimetres taken for centimetres?"
        )
    if corners and len(ring) == len(corners):
        sharp = [name for name, angle in zip(corners, _angles(ring), strict=True) if angle < SHARP_DEG]
        if sharp:
            said.append(
                f"The floor comes out folded, with a corner sharper than {SHARP_DEG:.0f}° at {' and '.join(sharp)}: "
                "look for a reading between its corners that is far too short, or for corners named out of order."
            )
    return tuple(said)


def _angles(ring: np.ndarray) -> list[float]:
    angles = []
    for k in range(len(ring)):
        before, after = ring[k - 1] - ring[k], ring[(k + 1) % len(ring)] - ring[k]
        across = float(before[0] * after[1] - before[1] * after[0])
        angles.append(abs(math.degrees(math.atan2(across, float(before @ after)))))
    return angles
