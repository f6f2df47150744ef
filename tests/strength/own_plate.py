"""An own plate of 13 ports, as ``tests/browser/test_own_plate.py`` makes one by hand: an invented desk machine with a
floor of 460 by 380 mm, a bracket in its corner, a cable hole, tested at 60 kPa."""

from __future__ import annotations

from typing import Any

from sketcher.document import Document, from_plain

PORTS = {
    "P1": (129, 190), "P2": (101, 190), "P3": (106, 318), "P4": (134, 318), "P5": (196, 318), "P6": (224, 318),
    "P7": (338, 150), "P8": (366, 150), "P9": (230, 66), "P10": (170, 66), "P11": (140, 38), "P12": (70, 38),
    "P13": (100, 78),
}  # fmt: skip
CHANNELS = (
    ("P1", "P3", ((129, 260), (106, 260))),
    ("P4", "P5", ()),
    ("P6", "P7", ((310, 318), (310, 150))),
    ("P8", "P9", ((406, 150), (406, 66))),
    ("P10", "P11", ((140, 66),)),
    ("P12", "P2", ((70, 150), (101, 150))),
    ("P13", "P12", ((100, 38),)),
)
OUTLINE = ((10, 10), (450, 10), (450, 297), (397, 297), (397, 370), (10, 370))


def _at(place: tuple[float, float]) -> dict[str, float]:
    return {"x_mm": place[0], "y_mm": place[1]}


def own_plate(**seal: Any) -> Document:
    """The plate, its lid screws by rule."""
    channels = [
        {
            "id": f"C{k}",
            "start": a,
            "end": b,
            "points": [_at(place) for place in points],
            "width_mm": 10,
            "depth_mm": 10,
        }
        for k, (a, b, points) in enumerate(CHANNELS, 1)
    ]
    floor = {"shape": "rectangle", "x_mm": 230, "y_mm": 190, "width_mm": 460, "depth_mm": 380}
    hole = {"shape": "circle", "x_mm": 260, "y_mm": 110, "diameter_mm": 22}
    return from_plain(
        {
            "version": 1,
            "floor": {"outline": floor},
            "plate": {
                "outline": {"shape": "polygon", "vertices": [_at(place) for place in OUTLINE]},
                "body_thickness_mm": 20,
                "lid_thickness_mm": 8,
                "z_mm": 6,
                "annealed": True,
            },
            "loop": {"test_pressure_kpa": 60},
            "cutouts": [{"id": "K1", "outline": hole}],
            "ports": [{"id": id_, **_at(place)} for id_, place in PORTS.items()],
            "channels": channels,
            "seal": {"screws_by_rule": True, **seal},
        }
    )
