"""Does it fit: what stands in the way, what lies outside, and whether a hand gets in."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from functools import partial

import numpy as np
import shapely

from sketcher.checks import moving_apart
from sketcher.checks.body_pairs import near_pairs
from sketcher.checks.plate_solid import PlateSolid, sound
from sketcher.checks.running import rules
from sketcher.checks.scene import TOUCH_MM, Scene
from sketcher.checks.space import bodies_of
from sketcher.document.files import part_to_plain
from sketcher.document.kinds import COLLECTIONS
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Cause, Change, Finding, Fix, Rule, mm, pair
from sketcher.geometry.bodies import Body
from sketcher.geometry.outline_edits import OutlineError, edited
from sketcher.geometry.shapes import AreaShape

#: Slivers less deep than this come from the polygons' tolerance, mm.
SLIVER_MM = 0.011
#: A plate that is cut back to the floor stays at least so far inside it, so that it goes in, and at most, mm.
_INSIDE_MM = (2.0, 10.0)


@rules(
    Rule("plate-outside-floor", "fits", "The plate lies within the floor", None, "", "It would not go in.", PRACTICE),
    Rule("plate-over-obstacle", "fits", "Plate and obstacle keep clear of each other", 0.5, "mm",
         "A standoff or rail under the plate rocks it, beside it it jams; a cutout over it gives it room.", PRACTICE),
    reads=("cutouts", "pockets"),
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
            fix=_cut_back(scene, floor),
        )
    if not shapes.obstacles:
        return
    limit, bodies = scene.limit("plate-over-obstacle"), bodies_of(scene)
    for _, obstacle in near_pairs([bodies.plate], bodies.obstacles, limit + 0.1):
        yield from _obstacle(scene, bodies.solid, obstacle, limit)


def _cut_back(scene: Scene, floor: shapely.Geometry) -> Fix | None:
    """The plate cut back to the floor, as far inside it as it lies elsewhere; none where nothing sensible is left."""
    corners = np.asarray(shapely.points(shapely.get_coordinates(scene.plate)))
    off = shapely.distance(corners[shapely.contains(floor, corners)], shapely.boundary(floor))
    inside = round(min(max(float(off.min()), _INSIDE_MM[0]), _INSIDE_MM[1]), 1) if len(off) else _INSIDE_MM[0]
    try:
        made = edited(scene.shapes, "plate", "common", "floor", -inside)
    except OutlineError:
        return None
    change = Change("/plate/outline", part_to_plain(made.outline))
    return Fix(f"Cut the plate back to {mm(inside)} inside the floor", (change,))


def _obstacle(scene: Scene, solid: PlateSolid, obstacle: Body, limit: float) -> Iterator[Finding]:
    between, over = solid.clearance(obstacle)
    value = between.value
    if value >= limit - TOUCH_MM:
        return
    z = scene.document.plate.z_mm
    overhangs = obstacle.low - solid.whole.high > solid.whole.low - obstacle.high
    best = (
        round(z - (limit - value) - scene.thicker_mm - 0.0005, 3) if overhangs else round(z + limit - value + 0.0005, 3)
    )
    fix = Fix(f"{'Lower' if overhangs else 'Raise'} the plate to {mm(best)}", (Change("/plate/z_mm", best),))
    yield Finding(
        rule="plate-over-obstacle",
        level="error",
        items=(obstacle.id,),
        value=value,
        limit=limit,
        unit="mm",
        at=((between.line[0][0] + between.line[1][0]) / 2, (between.line[0][1] + between.line[1][1]) / 2),
        message=f"{obstacle.id} reaches {mm(-value)} into the plate: its underside is {mm(obstacle.low)} above the "
        f"floor, the plate's top {mm(solid.whole.high)}."
        if value < 0 and overhangs
        else f"{obstacle.id} reaches {mm(-value)} into the plate: its top is {mm(obstacle.high)} above the floor, "
        f"the plate's underside {mm(z)}."
        if value < 0
        else f"The plate clears {obstacle.id} by {mm(value)}; {mm(limit)} is the minimum.",
        remedy=f"Add a cutout around it, {'lower' if overhangs else 'raise'} the plate, or make the plate smaller "
        "here.",
        fix=fix if over and best >= 0 else None,
    )


@rules(
    Rule("keep-out-entered", "fits", "Nothing enters a keep-out", None, "", "It was drawn for a reason.", PRACTICE),
    named=True,
)
def keep_outs(scene: Scene) -> Iterator[Finding]:
    """Items in an area that refuses their kind."""
    refuses = {item.id: set(item.refuses) for item in scene.document.keep_outs}
    kinds = {"thread": "port", "bore": "port", "head": "hole"}
    for id_, area in scene.shapes.keep_outs.items():
        ground, inner = _grounds.of((area,), None, partial(_ground, area))
        seen: set[str] = set()
        for i in np.flatnonzero(shapely.distance(inner, scene.cores) <= scene.radii + TOUCH_MM):
            prism = scene.prisms[i]
            kind = kinds.get(prism.part, prism.part)
            if kind not in refuses[id_] or prism.id in seen or not _enters(scene, int(i), inner):
                continue
            overlap = shapely.intersection(ground, scene.polygons[i])
            overlap = ground if shapely.is_empty(overlap) else overlap
            seen.add(prism.id)
            place = shapely.point_on_surface(overlap)
            yield Finding(
                rule="keep-out-entered",
                level="error",
                items=(prism.id, id_),
                at=(place.x, place.y),
                message=f"The {kind} {prism.id} enters the keep-out {id_}.",
                remedy=f"Move {prism.id} out of it, or draw {id_} smaller.",
                fix=_out(scene, int(i), ground),
            )
        yield from _screwed_on(scene, id_, inner, refuses[id_], seen)


_grounds: Remembered[tuple[shapely.Geometry, shapely.Geometry]] = Remembered()


def _ground(area: AreaShape) -> tuple[shapely.Geometry, shapely.Geometry]:
    """A keep-out made valid, and what is inside it: flush is not, and arcs are drawn up to a hundredth too large."""
    ground: shapely.Geometry = sound(area.polygon)
    inner = shapely.buffer(ground, -(SLIVER_MM if _has_arcs(area) else TOUCH_MM), join_style="mitre")
    return ground, ground if shapely.is_empty(inner) else inner


def _screwed_on(
    scene: Scene, id_: str, inner: shapely.Geometry, refuses: Collection[str], seen: set[str]
) -> Iterator[Finding]:
    """Fittings and screw heads that reach over an area which refuses ports or holes, when nothing cut for them does."""
    bodies = bodies_of(scene)
    rows = [("port", "fitting", body) for _, body in bodies.fittings]
    rows += [("hole", "head", body) for body in bodies.heads]
    left, front, right, rear = shapely.bounds(inner).tolist()
    rows = [row for row in rows if row[0] in refuses and row[2].id not in seen
            and row[2].bounds[0] <= right and row[2].bounds[2] >= left
            and row[2].bounds[1] <= rear and row[2].bounds[3] >= front]  # fmt: skip
    if not rows:
        return
    # Round areas are drawn up to a hundredth too large.
    areas = shapely.buffer(np.array([body.area for _, _, body in rows], dtype=object), -SLIVER_MM)
    for k in np.flatnonzero(shapely.intersects(inner, areas)):
        _, what, body = rows[k]
        place = shapely.point_on_surface(shapely.intersection(inner, areas[k]))
        by = moving_apart.apart((inner, 0.0), (body.area, 0.0), 0.0)
        yield Finding(
            rule="keep-out-entered",
            level="warning",
            items=(body.id, id_),
            at=(place.x, place.y),
            message=f"The {what} of {body.id} reaches into the keep-out {id_}.",
            remedy=f"Move {body.id} farther from it, or draw {id_} smaller.",
            fix=None if by is None else moving_apart.moved(scene, body.id, by, (place.x, place.y)),
        )


def _out(scene: Scene, i: int, ground: shapely.Geometry) -> Fix | None:
    """The shortest way out of an area."""
    by = moving_apart.apart((ground, 0.0), (scene.cores[i], float(scene.radii[i])), 0.0)
    place = shapely.point_on_surface(shapely.intersection(ground, scene.polygons[i]))
    return None if by is None else moving_apart.moved(scene, scene.prisms[i].id, by, (place.x, place.y))


def _has_arcs(area: AreaShape) -> bool:
    return area.contour is not None and any(not segment.straight for segment in area.contour.path.segments)


def _enters(scene: Scene, i: int, inner: shapely.Geometry) -> bool:
    """Whether what is cut lies in an area, by however little."""
    prism = scene.prisms[i]
    if prism.core is None or prism.solid is not None:
        shapes = scene.shapes
        drawn = shapes.cutouts.get(prism.id) or shapes.pockets.get(prism.id)
        less = SLIVER_MM if drawn is not None and _has_arcs(drawn) else TOUCH_MM
        return bool(shapely.intersects(inner, shapely.buffer(scene.polygons[i], -less, join_style="mitre")))
    return float(shapely.distance(inner, prism.core)) < prism.radius - TOUCH_MM


@rules(
    Rule("same-place", "fits", "No two items of one kind on the same place", 0.05, "mm",
         "The second is a slip of the hand, and is cut twice.", PRACTICE),
    named=True,
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
    named=True,
)  # fmt: skip
def drops(scene: Scene) -> Iterator[Finding]:
    """Ports on the top face beside the device port that they serve."""
    limit = scene.limit("drop-out-of-line")
    for index, item in enumerate(scene.document.ports):
        if item.serves is None or item.face != "top" or (item.tube is not None and item.tube.points):
            continue  # a tube whose corners are drawn bends as it is drawn
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
            # Ports that are off by the same are so because their device was moved.
            cause=Cause(
                f"{target.device} {target.x - item.x_mm:.2f} {target.y - item.y_mm:.2f}",
                f"{{count}} ports are {mm(value)} beside the ports of {target.device} that they serve.",
                f"Move {target.device} by {item.x_mm - target.x:+.1f}, {item.y_mm - target.y:+.1f}, or the ports.",
            ),
            fix=None if item.locked else Fix(f"Move {item.id} below {item.serves}", changes),
        )
