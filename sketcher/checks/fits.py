"""Does it fit: what stands in the way, what lies outside, and whether a hand gets in."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from sketcher.checks.running import rules
from sketcher.checks.scene import TOUCH_MM, Scene
from sketcher.checks.space import bodies_of, near_pairs
from sketcher.document.kinds import COLLECTIONS
from sketcher.findings import PRACTICE, Change, Finding, Fix, Rule, mm, pair
from sketcher.geometry.bodies import Body, gap

#: Slivers less deep than this come from the polygons' tolerance, mm.
SLIVER_MM = 0.011


@rules(
    Rule("plate-outside-floor", "fits", "The plate lies within the floor", None, "", "It would not go in.", PRACTICE),
    Rule("plate-over-obstacle", "fits", "Plate and obstacle keep clear of each other", 0.5, "mm",
         "A standoff or rail under the plate rocks it, beside it it jams; a cutout over it gives it room.", PRACTICE),
)  # fmt: skip
def the_floor(scene: Scene) -> Iterator[Finding]:
    """The plate against the floor's outline and what stands on the floor."""
    shapes = scene.shapes
    floor = shapely.make_valid(shapes.floor_polygon)
    beyond = shapely.difference(scene.plate, floor)
    depth = 0.0
    if not shapely.is_empty(beyond):
        depth = float(shapely.distance(shapely.points(shapely.get_coordinates(beyond)), floor).max())
    if depth > SLIVER_MM:
        place = shapely.point_on_surface(beyond)
        yield Finding(
            rule="plate-outside-floor",
            level="error",
            items=(),
            value=depth,
            limit=0.0,
            unit="mm",
            at=(place.x, place.y),
            message=f"The plate reaches {mm(depth)} beyond the case floor.",
            remedy="Make the plate smaller here, or measure the floor again.",
        )
    if not shapes.obstacles:
        return
    limit, bodies = scene.limit("plate-over-obstacle"), bodies_of(scene)
    for _, obstacle in near_pairs([bodies.plate], bodies.obstacles, limit + 0.1):
        yield from _obstacle(scene, bodies.plate, obstacle, limit)


def _obstacle(scene: Scene, solid: Body, obstacle: Body, limit: float) -> Iterator[Finding]:
    between = gap(solid, obstacle)
    value = between.value
    over = shapely.intersects(solid.area, obstacle.area)
    if over:  # the way out of it is up or down: sideways the plate is in its way too
        value = max(solid.low - obstacle.high, obstacle.low - solid.high)
    if value >= limit - TOUCH_MM:
        return
    z = scene.document.plate.z_mm
    raised = round(z + limit - (solid.low - obstacle.high) + 0.0005, 3)
    yield Finding(
        rule="plate-over-obstacle",
        level="error",
        items=(obstacle.id,),
        value=value,
        limit=limit,
        unit="mm",
        at=((between.line[0][0] + between.line[1][0]) / 2, (between.line[0][1] + between.line[1][1]) / 2),
        message=f"{obstacle.id} reaches {mm(-value)} into the plate: its top is {mm(obstacle.high)} above the floor, "
        f"the plate's underside {mm(z)}."
        if value < 0
        else f"The plate clears {obstacle.id} by {mm(value)}; {mm(limit)} is the minimum.",
        remedy="Add a cutout around it, raise the plate, or make the plate smaller here.",
        fix=Fix(f"Raise the plate to {mm(raised)}", (Change("/plate/z_mm", raised),)) if over else None,
    )


def _sound(polygon: shapely.Polygon) -> shapely.Geometry:
    return polygon if polygon.is_valid else shapely.make_valid(polygon)


@rules(
    Rule("keep-out-entered", "fits", "Nothing enters a keep-out", None, "", "It was drawn for a reason.", PRACTICE),
)
def keep_outs(scene: Scene) -> Iterator[Finding]:
    """Items in an area that refuses their kind."""
    refuses = {item.id: set(item.refuses) for item in scene.document.keep_outs}
    kinds = {"thread": "port", "bore": "port", "head": "hole"}
    for id_, area in scene.shapes.keep_outs.items():
        ground = _sound(area.polygon)
        seen: set[str] = set()
        for i in np.flatnonzero(shapely.intersects(ground, scene.polygons)):
            prism = scene.prisms[i]
            kind = kinds.get(prism.part, prism.part)
            if kind not in refuses[id_] or prism.id in seen:
                continue
            overlap = shapely.intersection(ground, scene.polygons[i])
            if overlap.area < 1e-3:
                continue
            seen.add(prism.id)
            place = shapely.point_on_surface(overlap)
            yield Finding(
                rule="keep-out-entered",
                level="error",
                items=(prism.id, id_),
                at=(place.x, place.y),
                message=f"The {kind} {prism.id} enters the keep-out {id_}.",
                remedy=f"Move {prism.id} out of it, or draw {id_} smaller.",
            )


@rules(
    Rule("same-place", "fits", "No two items of one kind on the same place", 0.05, "mm",
         "The second is a slip of the hand, and is cut twice.", PRACTICE),
)  # fmt: skip
def same_place(scene: Scene) -> Iterator[Finding]:
    """Items of one kind whose centres coincide."""
    words = {"hole": "screw hole", "branch": "branch"}
    kinds = {item.id: (kind, item) for key, (kind, _) in COLLECTIONS.items() for item in getattr(scene.document, key)}
    for both in scene.doubles:
        one, other = pair(*both)
        kind = kinds[one][0]
        places = [scene.middle_of(id_) for id_ in (one, other)]
        yield Finding(
            rule="same-place",
            level="error",
            items=(one, other),
            value=math.dist(*places),
            limit=scene.limit("same-place"),
            unit="mm",
            at=places[0],
            message=f"{one} and {other} are on the same place: two of the kind {words.get(kind, kind)}.",
            remedy="Delete one of the two.",
        )


@rules(
    Rule("drop-out-of-line", "fits", "A port stands below the device port it serves", 5.0, "mm",
         "Hard tube drops straight; a port beside its drop needs a bend there is no room for.", PRACTICE),
)  # fmt: skip
def drops(scene: Scene) -> Iterator[Finding]:
    """Ports on the top face beside the device port that they serve."""
    limit = scene.limit("drop-out-of-line")
    for index, item in enumerate(scene.document.ports):
        if item.serves is None or item.face != "top":
            continue
        target = scene.shapes.device_ports[item.serves]
        value = float(np.hypot(target.x - item.x_mm, target.y - item.y_mm))
        if value <= limit + 1e-9:
            continue
        changes = (
            Change(f"/ports/{index}/x_mm", round(target.x, 3)),
            Change(f"/ports/{index}/y_mm", round(target.y, 3)),
        )
        yield Finding(
            rule="drop-out-of-line",
            level="warning",
            items=(item.id, target.device),
            value=value,
            limit=limit,
            unit="mm",
            at=(item.x_mm, item.y_mm),
            line=((item.x_mm, item.y_mm), (target.x, target.y)),
            message=f"The port {item.id} is {mm(value)} beside {item.serves}, whose tube drops to it.",
            remedy=f"Move it to {target.x:.1f}, {target.y:.1f}, or bend the tube.",
            fix=None if item.locked else Fix(f"Move {item.id} below {item.serves}", changes),
        )
