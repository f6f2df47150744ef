"""The first plate: what an empty start becomes."""

from __future__ import annotations

from sketcher.document.files import from_plain
from sketcher.document.models import Document

#: Between the floor's walls and a first plate, mm: room to lift it out by hand.
ROOM_MM = 10.0
#: A first plate stands so high above the floor, mm: room for the heads of M4 lid screws (4 mm, ISO 4762) below it.
STANDOFF_MM = 6.0
#: A first plate is tested with 1.5 times the 40 kPa that a usual pump gives at no flow.
TEST_KPA = 60.0


def begin(width_mm: float, depth_mm: float, body_thickness_mm: float, name: str = "") -> Document:
    """A bare plate over a rectangular floor: the three things that a first plate needs.

    Raises:
        DocumentError: a size is no length, or the floor is too small for a plate.
    """
    middle = {"x_mm": _half(width_mm), "y_mm": _half(depth_mm)}
    floor = {"shape": "rectangle", **middle, "width_mm": width_mm, "depth_mm": depth_mm}
    plate = {"shape": "rectangle", **middle, "width_mm": _less(width_mm), "depth_mm": _less(depth_mm)}
    return from_plain(
        {
            "name": name,
            "floor": {"outline": floor},
            "plate": {
                "outline": plate,
                "body_thickness_mm": body_thickness_mm,
                "lid_thickness_mm": 8,
                "z_mm": STANDOFF_MM,
                "annealed": True,
            },
            "loop": {"test_pressure_kpa": TEST_KPA},
        }
    )


def _half(size: float) -> float:
    return size / 2 if isinstance(size, int | float) else size


def _less(size: float) -> float:
    return size - 2 * ROOM_MM if isinstance(size, int | float) else size
