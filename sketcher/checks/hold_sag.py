"""Does it hold: the plate's own weight between and beyond its mounting screws, over years.

The plate is a strip that reaches from the nearest support to its farthest place, r. Held at both ends it sags by
5 q (2 r)^4 / 384 D in the middle (Roark, table 8.1, case 2e), held firmly at one by q r^4 / 8 D (case 2a); a square
that stands on its corners, r from the middle, sags by 0.0257 q (r sqrt 2)^4 / D (Timoshenko and Woinowsky-Krieger,
article 47, from memory). The first is the greatest, and is what counts here. Body and lid count as two sheets that
slide on each other, as if no channel were cut. What stands on the plate is not weighed: nobody has said what it weighs.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import PRACTICE, Finding, Rule, mm
from sketcher.reference import materials
from sketcher.strength.flat_plate import POISSON
from sketcher.strength.lid import CREEP_SHARE, KNOWN_MATERIAL

#: Weight of a kilogram, N.
_GRAVITY = 9.81
#: The sag of a strip held at both ends, of length 2 r, over q r^4 / D.
_SPAN = 5 * 2**4 / 384
#: What stands just under the plate holds it up, mm.
_TOUCH_MM = 0.2


@rules(
    Rule("plate-sag", "holds", "Sag of the plate under its own weight, years on", 0.5, "mm",
         "A plate that is held at one end alone hangs down at the other, and its tubes with it.",
         "Roark's Formulas for Stress and Strain, table 8.1, case 2e; how much: " + PRACTICE),
    reads=("holes",),
)  # fmt: skip
def own_weight(scene: Scene) -> Iterator[Finding]:
    """The plate's farthest place from its mounting screws, and from what it stands on."""
    document = scene.document
    supports = _supports(scene)
    if not supports or document.plate.z_mm <= 0:
        return
    held = shapely.union_all(np.array(supports, dtype=object))
    outline = shapely.segmentize(sound(scene.shapes.plate_polygon), 5.0)
    places = np.vstack([shapely.get_coordinates(outline), _inside(outline)])
    away = np.atleast_1d(shapely.distance(shapely.points(places), held))
    far = int(np.argmax(away))
    value, limit = sag_mm(scene, float(away[far])), scene.limit("plate-sag")
    if value <= limit + 1e-9:
        return
    x, y = places[far]
    yield Finding(
        "plate-sag", "warning", (), f"The plate's nearest support is {mm(float(away[far]))} from here, and it sags by "
        f"about {mm(value)} under its own weight; the maximum is {mm(limit)}.",
        "Place a mounting screw or a standoff nearer to this place, or take a thicker body.", value, limit, "mm",
        (float(x), float(y)),
    )  # fmt: skip


def sag_mm(scene: Scene, reach_mm: float) -> float:
    """How far the plate sags that far from its support, mm."""
    plate = scene.document.plate
    known = plate.material in materials.names()
    material = materials.material(plate.material if known else KNOWN_MATERIAL)
    modulus = CREEP_SHARE * material["modulus_gpa"].low * 1000
    sheets = plate.body_thickness_mm, plate.lid_thickness_mm
    weight = material["density_g_cm3"].high * 1e-6 * _GRAVITY * sum(sheets)  # N/mm²
    rigidity = modulus * sum(sheet**3 for sheet in sheets) / (12 * (1 - POISSON**2))
    return _SPAN * weight * reach_mm**4 / rigidity


def _supports(scene: Scene) -> list[shapely.Geometry]:
    """Mounting screws, and obstacles that end just under the plate."""
    holes = [hole.item for hole in scene.shapes.holes.values() if hole.item.use == "mount"]
    if not holes:
        return []
    found: list[shapely.Geometry] = [shapely.Point(hole.x_mm, hole.y_mm) for hole in holes]
    z = scene.document.plate.z_mm
    return found + [sound(area.polygon) for area in scene.shapes.obstacles.values() if abs(area.high - z) <= _TOUCH_MM]


def _inside(outline: shapely.Geometry) -> np.ndarray:
    """A raster of about thirty places along each side of the plate, those on it."""
    x0, y0, x1, y1 = shapely.bounds(outline).tolist()
    grid = np.stack(np.meshgrid(np.linspace(x0, x1, 31), np.linspace(y0, y1, 31)), -1).reshape(-1, 2)
    return np.asarray(grid[shapely.contains_xy(outline, grid)], dtype=float)
