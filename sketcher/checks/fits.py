"""Does it fit: what stands in the way, what lies outside, and whether a hand gets in."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import PRACTICE, Change, Finding, Fix, Rule, mm

#: Slivers smaller than this come from the polygons' tolerance, mm².
SLIVER_MM2 = 0.5


@rules(
    Rule("outside-plate", "fits", "Every item lies within the plate", None, "",
         "What is cut at the edge is no hole and no channel.", PRACTICE),
)  # fmt: skip
def outside_the_plate(scene: Scene) -> Iterator[Finding]:
    """Items that lie over the plate's edge or wholly beside it."""
    if not len(scene.polygons):
        return
    shapely.prepare(scene.plate)
    inside = shapely.covers(scene.plate, scene.polygons)
    seen: set[str] = set()
    for i in np.flatnonzero(~inside):
        prism = scene.shapes.prisms[i]
        port = scene.shapes.ports.get(prism.id)
        if prism.id in seen:
            continue
        beyond = shapely.difference(scene.polygons[i], scene.plate)
        if port is not None and port.heading is not None:
            # An edge port opens through the edge: it is outside only when its far end is, or its mouth is off the edge.
            if shapely.covers(scene.plate, shapely.Point(port.root)) and shapely.dwithin(
                scene.edge, shapely.Point(port.at), 0.1
            ):
                continue
        elif beyond.area < 1e-3:
            continue
        seen.add(prism.id)
        place = shapely.point_on_surface(beyond) if not beyond.is_empty else shapely.Point(port.at)  # type: ignore[union-attr]
        wholly = not shapely.intersects(scene.polygons[i], scene.plate)
        yield Finding(
            rule="outside-plate",
            level="error",
            items=(prism.id,),
            at=(place.x, place.y),
            message=f"{prism.id} lies {'outside' if wholly else 'over the edge of'} the plate.",
            remedy="Move it inside, or widen the plate's outline.",
        )


@rules(
    Rule("plate-outside-floor", "fits", "The plate lies within the floor", None, "", "It would not go in.", PRACTICE),
    Rule("plate-over-obstacle", "fits", "Plate and obstacle keep clear of each other", 0.5, "mm",
         "A standoff or rail under the plate rocks it, beside it it jams; a cutout over it gives it room.", PRACTICE),
)  # fmt: skip
def the_floor(scene: Scene) -> Iterator[Finding]:
    """The plate against the floor's outline and what stands on the floor."""
    shapes, plate = scene.shapes, scene.document.plate
    floor = shapely.make_valid(shapes.floor_polygon)
    beyond = shapely.difference(scene.plate, floor)
    if beyond.area > SLIVER_MM2:
        place = shapely.point_on_surface(beyond)
        depth = float(shapely.distance(shapely.points(shapely.get_coordinates(beyond)), floor).max())
        yield Finding(
            rule="plate-outside-floor",
            level="error",
            items=(),
            value=depth,
            limit=0.0,
            unit="mm",
            at=(place.x, place.y),
            message=f"The plate reaches {mm(depth)} beyond the case floor.",
            remedy="Draw its outline in, or measure the floor again.",
        )
    if not shapes.obstacles:
        return
    limit = scene.limit("plate-over-obstacle")
    solid = shapely.difference(scene.plate, shapely.union_all([_sound(a.polygon) for a in shapes.cutouts.values()]))
    for id_, obstacle in shapes.obstacles.items():
        clear = max(plate.z_mm - obstacle.high, obstacle.low - plate.z_mm - shapes.thickness)
        if clear >= limit - 1e-9:
            continue
        body = _sound(obstacle.polygon)
        gap = float(shapely.distance(solid, body))
        if gap >= limit - 1e-6:
            continue
        overlap = shapely.intersection(solid, body)
        place = shapely.point_on_surface(body if overlap.is_empty else overlap)
        over = not overlap.is_empty
        yield Finding(
            rule="plate-over-obstacle",
            level="error",
            items=(id_,),
            value=0.0 if over else gap,
            limit=limit,
            unit="mm",
            at=(place.x, place.y),
            message=f"The plate lies over {id_}, which stands {mm(obstacle.high)} above the floor; "
            f"the plate's underside is at {mm(plate.z_mm)}."
            if over
            else f"The plate passes {id_} at {mm(gap)}; {mm(limit)} is the least.",
            remedy="Cut the plate out around it, lift the plate above it, or draw the outline in.",
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
            prism = scene.shapes.prisms[i]
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
    Rule("fittings-touch", "fits", "Fittings keep apart", 0.5, "mm", "Two fittings cannot be where one is.", PRACTICE),
    Rule("spanner-room", "fits", "A hand or a spanner gets in between two fittings", 8.0, "mm",
         "A fitting that cannot be turned cannot be tightened, and one that cannot be tightened leaks.", PRACTICE),
)  # fmt: skip
def between_fittings(scene: Scene) -> Iterator[Finding]:
    """Room between the fittings on one face."""
    ports = [port for port in scene.shapes.ports.values() if port.item.use != "plugged"]
    if len(ports) < 2:
        return
    touch, room = scene.limit("fittings-touch"), scene.limit("spanner-room")
    rings = np.array([port.fitting for port in ports], dtype=object)
    tree = shapely.STRtree(rings)
    first, second = tree.query(rings, predicate="dwithin", distance=max(touch, room))
    once = first < second
    gaps = shapely.distance(rings[first[once]], rings[second[once]])
    for i, j, gap in zip(first[once], second[once], gaps, strict=True):
        one, other = ports[i], ports[j]
        if one.item.face != other.item.face or gap >= room - 1e-6:
            continue
        touches = gap < touch - 1e-6
        limit = touch if touches else room
        line = (one.at, other.at)
        yield Finding(
            rule="fittings-touch" if touches else "spanner-room",
            level="error" if touches else "warning",
            items=(one.item.id, other.item.id),
            value=float(gap),
            limit=limit,
            unit="mm",
            at=((one.at[0] + other.at[0]) / 2, (one.at[1] + other.at[1]) / 2),
            line=line,
            message=f"The fittings of {one.item.id} and {other.item.id} are {mm(float(gap))} apart; "
            + (f"they need {mm(touch)}." if touches else f"a hand needs about {mm(room)}."),
            remedy=f"Move one of the ports {mm(limit - float(gap))} away, or choose slimmer fittings.",
        )


@rules(
    Rule("same-place", "fits", "No two items of one kind on the same place", 0.05, "mm",
         "The second is a slip of the hand, and is cut twice.", PRACTICE),
)  # fmt: skip
def same_place(scene: Scene) -> Iterator[Finding]:
    """Items of one kind whose centres coincide."""
    document, limit = scene.document, scene.limit("same-place")
    groups: dict[str, list[tuple[str, float, float]]] = {
        "port": [(p.id, p.x_mm, p.y_mm) for p in document.ports],
        "screw hole": [(h.id, h.x_mm, h.y_mm) for h in document.holes],
        "branch": [(b.id, b.x_mm, b.y_mm) for b in document.branches],
    }
    for what, areas in (("cutout", scene.shapes.cutouts), ("pocket", scene.shapes.pockets)):
        groups[what] = [(id_, c.x, c.y) for id_, area in areas.items() for c in [area.polygon.centroid]]
    for what, rows in groups.items():
        if len(rows) < 2:
            continue
        places = shapely.points([(x, y) for _, x, y in rows])
        first, second = shapely.STRtree(places).query(places, predicate="dwithin", distance=limit)
        for i, j in zip(first, second, strict=True):
            if i < j:
                yield Finding(
                    rule="same-place",
                    level="error",
                    items=(rows[i][0], rows[j][0]),
                    value=float(shapely.distance(places[i], places[j])),
                    limit=limit,
                    unit="mm",
                    at=rows[i][1:],
                    message=f"The {what}s {rows[i][0]} and {rows[j][0]} are on the same place.",
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
