"""How long the chances of 20 tubes take, against the integration that nobody can do without, in the same run.

The answer without advice takes some 5 ms of processor time, under the 20 ms that the resting answer leaves for it;
``python -m tests.bench.test_sureness_speed`` prints what it takes here.
"""

from __future__ import annotations

import numpy as np

from sketcher.document import Document, from_plain, to_plain
from sketcher.geometry import build
from sketcher.sureness.assessment import assess
from sketcher.sureness.chances import all_within
from tests.bench.test_check_speed import best
from tests.sureness import builds


def twenty() -> Document:
    """Ten devices with two tubes each, some on a board that is tied to the survey."""
    plain = to_plain(builds.document(1.45))
    plain["devices"], plain["ports"] = [], []
    for k in range(10):
        name, x, y = f"D{k}", 70.0 + 25 * k, 120.0 + 6 * k
        held = {"held_by": "MB", "x_mm": x - 120, "y_mm": y - 140} if k % 3 == 0 else {"x_mm": x, "y_mm": y, "z_mm": 70}
        ends = [{"id": "a"}, {"id": "b", "v_mm": 40}]
        plain["devices"].append({"id": name, "kind": "block", "ports": ends, **held})
        for j, end in enumerate("ab"):
            place = {"x_mm": x, "y_mm": y + 40 * j}
            plain["ports"].append({"id": f"P{2 * k + j + 1}", **place, "serves": f"{name}.{end}"})
    return from_plain(plain)


def measure() -> list[float]:
    """Seconds of the answer without advice, with advice, and of the joint integration alone."""
    document = twenty()
    shapes = build(document)
    found = assess(document, shapes, advice=False)
    assert len(found.tubes) == 20
    chance = np.random.default_rng(1)
    factor = chance.normal(size=(40, 40)) * 0.1
    covariance, radii = factor @ factor.T, np.full(20, 1.5)
    return best(
        lambda: assess(document, shapes, advice=False),
        lambda: assess(document, shapes),
        lambda: all_within(np.zeros((20, 2)), covariance, radii),
    )


def test_twenty_tubes_take_at_most_ten_times_the_joint_integration() -> None:
    plain, advised, bare = measure()
    assert plain <= 10 * bare, f"{plain * 1e3:.1f} ms against {bare * 1e3:.1f} ms"
    assert advised <= 60 * bare, f"{advised * 1e3:.1f} ms against {bare * 1e3:.1f} ms"


if __name__ == "__main__":
    for words, seconds in zip(("without advice", "with advice", "integration alone"), measure(), strict=True):
        print(f"{words:>18} {1e3 * seconds:8.2f} ms")
