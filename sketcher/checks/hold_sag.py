"""Does it hold: the plate's own weight, and what stands on it, between and beyond its mounting screws, over years.

The plate is a strip that reaches from the nearest support to its farthest place, r. Held at both ends it sags by
5 q (2 r)^4 / 384 D in the middle (Roark, table 8.1, case 2e), held firmly at one by q r^4 / 8 D (case 2a); a square
that stands on its corners, r from the middle, sags by 0.0257 q (r sqrt 2)^4 / D (Timoshenko and Woinowsky-Krieger,
article 47, from memory). The first is the greatest, and is what counts here. A weight P at the distance a adds what it
bends a cantilever of the plate's width B by at its end, P a^2 (3 r - a) / 6 D B (case 1a). Where that is too much and
three supports hold the plate, it is solved as a plate on posts (``strength.plate_weight``). Body and lid count as two
sheets that slide on each other, as if no channel were cut.

What stands on the plate weighs what the document says (``mass_g``) and the coolant in it; a drop weighs half of itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry

from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.checks.space import bodies_of
from sketcher.checks.thick_heights import standing_on_it
from sketcher.findings import PRACTICE, Finding, Rule, mm
from sketcher.flow.coolant import coolant
from sketcher.reference import materials
from sketcher.strength.flat_plate import POISSON
from sketcher.strength.lid import CREEP_SHARE, KNOWN_MATERIAL
from sketcher.strength.plate_weight import Weight, held, sag
from sketcher.tubes.runs import runs

#: Weight of a kilogram, N.
_GRAVITY = 9.81
#: The sag of a strip held at both ends, of length 2 r, over q r^4 / D.
_SPAN = 5 * 2**4 / 384
#: What stands just under the plate holds it up, mm.
_TOUCH_MM = 0.2
#: Temperature at which coolant is weighed, °C; a tube whose material nothing says.
_ROOM_C, _TUBE_G_CM3 = 20.0, 1.3
#: The posts that stand in for an area lie so far in from its corners, of the way to the middle.
_IN_SHARE = 0.1


@dataclass(frozen=True)
class _Sheet:
    """The plate as what sags: its own weight, N/mm², and its rigidity after creep, N mm."""

    own_n_mm2: float
    rigidity: float


@rules(
    Rule("plate-sag", "holds", "Sag of the plate under its own weight and what stands on it, years on", 0.5, "mm",
         "A plate that is held at one end alone hangs down at the other, and its tubes with it.",
         "Roark's Formulas for Stress and Strain, table 8.1, cases 1a and 2e; how much: " + PRACTICE),
    slow=True,
)  # fmt: skip
def own_weight(scene: Scene) -> Iterator[Finding]:
    """The plate's farthest place from its mounting screws, and from what it stands on."""
    document = scene.document
    supports = _supports(scene)
    if not supports or document.plate.z_mm <= 0:
        return
    held_by = shapely.union_all(np.array(supports, dtype=object))
    outline = shapely.segmentize(sound(scene.shapes.plate_polygon), 5.0)
    places = np.vstack([shapely.get_coordinates(outline), _inside(outline)])
    away = np.atleast_1d(shapely.distance(shapely.points(places), held_by))
    far = int(np.argmax(away))
    weights, limit, place = _weights(scene), scene.limit("plate-sag"), (float(places[far][0]), float(places[far][1]))
    value = sag_mm(scene, float(away[far])) + _under_weights_mm(scene, weights, held_by, float(away[far]), place)
    posts = np.vstack([_posts(support) for support in supports])
    if value > limit + 1e-9 and held(posts):
        value, place = sag(_plate(scene), posts, (it := _sheet(scene)).own_n_mm2, weights, it.rigidity)
    if value <= limit + 1e-9:
        return
    on_it = sum(weight.weight_n for weight in weights) / _GRAVITY
    own = "its own weight" + (f" and the {on_it:.2g} kg that stand on it" if on_it >= 0.1 else "")
    reach = float(shapely.distance(held_by, shapely.Point(place)))
    yield Finding(
        "plate-sag", "warning", (), f"The plate's nearest support is {mm(reach)} from here, and it sags by "
        f"about {mm(value)} under {own}; the maximum is {mm(limit)}.",
        "Place a mounting screw or a standoff nearer to this place, or take a thicker body.", value, limit, "mm",
        place,
    )  # fmt: skip


def sag_mm(scene: Scene, reach_mm: float) -> float:
    """How far the plate sags that far from its support under its own weight, as a strip, mm."""
    sheet = _sheet(scene)
    return _SPAN * sheet.own_n_mm2 * reach_mm**4 / sheet.rigidity


def _sheet(scene: Scene) -> _Sheet:
    plate = scene.document.plate
    known = plate.material in materials.names()
    material = materials.material(plate.material if known else KNOWN_MATERIAL)
    modulus = CREEP_SHARE * material["modulus_gpa"].low * 1000
    sheets = plate.body_thickness_mm, plate.lid_thickness_mm
    weight = material["density_g_cm3"].high * 1e-6 * _GRAVITY * sum(sheets)
    return _Sheet(weight, modulus * sum(sheet**3 for sheet in sheets) / (12 * (1 - POISSON**2)))


def _plate(scene: Scene) -> Geometry:
    holes = shapely.union_all([sound(area.polygon) for area in scene.shapes.cutouts.values()])
    return shapely.difference(sound(scene.shapes.plate_polygon), holes)


def _under_weights_mm(
    scene: Scene, weights: tuple[Weight, ...], held_by: Geometry, reach: float, place: tuple[float, float]
) -> float:
    """What weights add to the strip's sag: each bends a cantilever that reaches to the farthest place, as wide as the
    plate across the way there; at most as far across as twice its distance takes part (common practice, no source)."""
    if not weights:
        return 0.0
    sheet, outline = _sheet(scene), shapely.get_coordinates(sound(scene.shapes.plate_polygon))
    root = shapely.get_coordinates(shapely.shortest_line(held_by, shapely.Point(place)))[0]
    along = np.subtract(place, root) / max(reach, 1e-9)
    width = float(np.ptp(outline @ np.array([-along[1], along[0]])))
    found = 0.0
    for weight in weights:
        corners = shapely.points(shapely.get_coordinates(weight.footprint))
        at = min(float(shapely.distance(corners, held_by).max()), reach)
        across = max(min(width, 2 * at), 1e-9)
        found += weight.weight_n * at**2 * (3 * reach - at) / (6 * sheet.rigidity * across)
    return found


def _weights(scene: Scene) -> tuple[Weight, ...]:
    """What stands on the plate and has a mass, and half of every drop, N."""
    document, shapes = scene.document, scene.shapes
    fluid = coolant(document.loop.coolant.kind, document.loop.coolant.strength_percent)
    density = float(fluid.density(_ROOM_C)) * 1e-9  # kg/mm³
    found = list[Weight]()
    plate = sound(shapes.plate_polygon)
    heavy = {device.id: device for device in document.devices if device.mass_g > 0 or device.volume_ml > 0}
    on_it = standing_on_it(scene) & set(heavy) if heavy else set()
    for body in bodies_of(scene).hardware if on_it else ():
        if body.id in on_it:
            device, under = heavy[body.id], shapely.intersection(plate, body.area)
            kilograms = device.mass_g / 1000 + device.volume_ml * 1000 * density
            # What is carried beside the plate leans on what stands on it: at the plate's nearest place then.
            foot = under if under.area else shapely.points(_nearest(plate, body.area))
            found.append(Weight(foot, kilograms * _GRAVITY))
    for run in runs(document, shapes):
        if run.kind == "drop" and run.id in shapes.ports:
            inner, outer = (math.pi * across**2 / 4 for across in (run.inner_mm, run.outer_mm))
            wall = (run.material.density_g_cm3 if run.material else _TUBE_G_CM3) * 1e-6
            kilograms = run.wet_length_mm * (inner * density + (outer - inner) * wall) / 2
            found.append(Weight(shapely.Point(shapes.ports[run.id].at), kilograms * _GRAVITY))
    return tuple(found)


def _nearest(plate: Geometry, area: Geometry) -> tuple[float, float]:
    x, y = shapely.get_coordinates(shapely.shortest_line(plate, area))[0]
    return float(x), float(y)


def _posts(support: Geometry) -> np.ndarray:
    """A support as places: a screw is one, what the plate lies on its corners and its middle."""
    if isinstance(support, shapely.Point):
        return shapely.get_coordinates(support)
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(support))[:4]
    return np.vstack([box + (box.mean(axis=0) - box) * _IN_SHARE, box.mean(axis=0)])


def _supports(scene: Scene) -> list[Geometry]:
    """Mounting screws, and obstacles that end just under the plate."""
    holes = [hole.item for hole in scene.shapes.holes.values() if hole.item.use == "mount"]
    if not holes:
        return []
    found: list[Geometry] = [shapely.Point(hole.x_mm, hole.y_mm) for hole in holes]
    z = scene.document.plate.z_mm
    return found + [sound(area.polygon) for area in scene.shapes.obstacles.values() if abs(area.high - z) <= _TOUCH_MM]


def _inside(outline: Geometry) -> np.ndarray:
    """A raster of about thirty places along each side of the plate, those on it."""
    x0, y0, x1, y1 = shapely.bounds(outline).tolist()
    grid = np.stack(np.meshgrid(np.linspace(x0, x1, 31), np.linspace(y0, y1, 31)), -1).reshape(-1, 2)
    return np.asarray(grid[shapely.contains_xy(outline, grid)], dtype=float)
