"""Does it fit: fittings on the faces and the edges of the plate, and room to turn them."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from sketcher.checks import moving_apart
from sketcher.checks.body_pairs import near_pairs
from sketcher.checks.faces import MOUTH_MM
from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.checks.space import bodies_of, chain, is_plugged
from sketcher.findings import PRACTICE, Cause, Finding, Fix, Rule, mm, pair, ways
from sketcher.geometry.bodies import Body, gap
from sketcher.geometry.ports import PortShape, square_to_the_edge


@rules(
    Rule("fittings-touch", "fits", "Fittings keep apart", 0.5, "mm", "Two fittings cannot be where one is.", PRACTICE),
    Rule("spanner-room", "fits", "A hand or a spanner gets in beside a fitting", 8.0, "mm",
         "A fitting that cannot be turned cannot be tightened, and one that cannot be tightened leaks.", PRACTICE),
    named=True,
)  # fmt: skip
def between_fittings(scene: Scene) -> Iterator[Finding]:
    """Room between any two fittings: on one face in plan, on different faces in space."""
    bodies = bodies_of(scene).fittings
    if len(bodies) < 2:
        return
    touch, room = scene.limit("fittings-touch"), scene.limit("spanner-room")
    rings = np.array([port.fitting for port, _ in bodies], dtype=object)
    faces = np.array([port.item.face for port, _ in bodies], dtype=object)
    tree = shapely.STRtree(rings)
    first, second = tree.query(rings, predicate="dwithin", distance=max(touch, room) + 0.1)
    once = first < second
    first, second = first[once], second[once]
    gaps = shapely.distance(rings[first], rings[second])
    round_ = (faces[first] != "edge") & (faces[first] == faces[second])
    gaps = np.where(round_, _exact(bodies, first, second), gaps)
    for i, j, plan in zip(first, second, gaps, strict=True):
        (one, body), (other, other_body) = bodies[i], bodies[j]
        value = float(plan)
        if one.item.face != other.item.face or one.heading is not None:
            if {one.item.face, other.item.face} == {"top", "bottom"}:
                continue
            value = max(gap(body, other_body).value, 0.0)
        touches = value < touch - 1e-6
        if value >= room - 1e-6 or (not touches and (is_plugged(one) or is_plugged(other))):
            continue
        limit = touch if touches else room
        yield Finding(
            rule="fittings-touch" if touches else "spanner-room",
            level="error" if touches else "warning",
            items=pair(one.item.id, other.item.id),
            value=value,
            limit=limit,
            unit="mm",
            at=((one.at[0] + other.at[0]) / 2, (one.at[1] + other.at[1]) / 2),
            line=(one.at, other.at),
            message=f"The fittings of {one.item.id} and {other.item.id} are {mm(value)} apart; "
            + (f"they need {mm(touch)}." if touches else f"a hand needs about {mm(room)}."),
            remedy=f"Move one of the ports {mm(limit - value)} away, or choose slimmer fittings.",
            **ways(*_apart(scene, one, other, limit), *_apart(scene, one, other, max(touch, room))),
        )


def _apart(scene: Scene, one: PortShape, other: PortShape, limit: float) -> Iterator[Fix | None]:
    """Two ports of one face moved apart; edge ports along their edge."""
    half, half_too = one.item.fitting_diameter_mm / 2, other.item.fitting_diameter_mm / 2
    missing = limit + half + half_too - math.dist(one.at, other.at)
    by = moving_apart.apart((shapely.Point(one.at), half), (shapely.Point(other.at), half_too), limit)
    for port, sign in ((other, 1.0), (one, -1.0)):
        if port.heading is not None:
            yield from moving_apart.along_the_edge(scene, port.item.id, missing + moving_apart.HAIR_MM)
        elif by is not None:
            yield moving_apart.moved(scene, port.item.id, (sign * by[0], sign * by[1]))


def _exact(bodies: list[tuple[PortShape, Body]], first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """Gaps between round fittings, from their middles and radii."""
    places = np.array([port.at for port, _ in bodies])
    radii = np.array([port.item.fitting_diameter_mm / 2 for port, _ in bodies])
    apart = np.hypot(*(places[first] - places[second]).T) - radii[first] - radii[second]
    return np.asarray(np.maximum(apart, 0.0))


@rules(
    Rule("fitting-blocked", "fits", "A fitting keeps clear of everything hard beside it", 0.5, "mm",
         "A fitting cannot be screwed in where a wall, a device or the plate itself is.", PRACTICE),
    named=True,
)  # fmt: skip
def beside_fittings(scene: Scene) -> Iterator[Finding]:
    """Fittings, and the room to turn them, against boards, devices, obstacles, the plate's edge and the case's walls.

    What stands over a fitting on the top face, or hangs under one below, is asked by the rules on heights.
    """
    bodies = bodies_of(scene)
    room = max(scene.limit("spanner-room"), scene.limit("fitting-blocked"))
    ports = {body.id: port for port, body in bodies.fittings}
    hard = [*bodies.hardware, *bodies.obstacles]
    fittings = [body for _, body in bodies.fittings]
    for fitting, other in near_pairs(fittings, hard, room + 0.1):
        port = ports[fitting.id]
        if port.heading is None and shapely.intersects(other.area, port.fitting):
            if port.item.face == "top" or (other.kind == "obstacle" and other.high < bodies.plate_heights[0]):
                continue  # over or under it
        else:
            served = scene.shapes.device_ports.get(port.item.serves or "")
            if served is not None and other.id in chain(scene, served.device):
                continue
        between, root = gap(fitting, other), gap(bodies.root_of(port), other)
        yield from _beside(scene, port, between.value, root.value, f"the {other.kind} {other.id}",
                           (port.item.id, other.id), between.away)  # fmt: skip
    lying = [body for body in fittings if ports[body.id].heading is not None]
    for fitting in lying:
        yield from _before_the_plate(scene, ports[fitting.id], fitting)
    walls = sound(scene.shapes.floor_polygon)
    areas = np.array([fitting.area for fitting in fittings], dtype=object)
    clear = shapely.covers(walls, areas) & (shapely.distance(shapely.boundary(walls), areas) >= room)
    for k in np.flatnonzero(~clear).tolist():
        fitting = fittings[k]
        room_left = _inside(bodies.root_of(ports[fitting.id]), walls)
        yield from _beside(
            scene, ports[fitting.id], _inside(fitting, walls), room_left, "the case's wall", (fitting.id,)
        )


def _inside(fitting: Body, walls: shapely.Geometry) -> float:
    """How far a fitting is from the case's walls, negative by how far it reaches beyond."""
    if shapely.covers(walls, fitting.area):
        return float(shapely.distance(shapely.boundary(walls), fitting.area))
    corners = shapely.points(shapely.get_coordinates(fitting.area))
    return -float(shapely.distance(corners, walls).max())


def _before_the_plate(scene: Scene, port: PortShape, fitting: Body) -> Iterator[Finding]:
    """An edge port's fitting against another part of the plate: in an inner corner, or across a bay."""
    assert port.heading is not None
    if not shapely.dwithin(scene.edge, shapely.Point(port.at), MOUTH_MM):
        return  # its mouth is not on the edge, and that is said
    # Of the edge itself, when the port is drilled off square to it: that has a finding of its own.
    hx, hy = square_to_the_edge(port.at, scene.shapes.plate_polygon)
    if hx * port.heading[0] + hy * port.heading[1] <= 1e-6:
        return  # it is drilled out of the plate, and that is said
    x, y = (at - 0.05 * way for at, way in zip(port.at, (hx, hy), strict=True))
    size = port.item.fitting_diameter_mm
    # The plane that the fitting is screwed against is not in its way; what stands before that plane is.
    reach = 4 * size + 2 * scene.limit("spanner-room")
    corners = [(-0.02, -reach), (-0.02, reach), (-reach, reach), (-reach, -reach)]
    before = shapely.Polygon([(x + hx * u - hy * v, y + hy * u + hx * v) for u, v in corners])
    rest = shapely.intersection(scene.plate, before)
    if shapely.is_empty(rest):
        return
    piece = Body("", "plate", rest, *bodies_of(scene).plate_heights)
    room_left = gap(bodies_of(scene).root_of(port), piece).value
    yield from _beside(scene, port, gap(fitting, piece).value, room_left, "the plate's own edge", (port.item.id,))


def _beside(
    scene: Scene,
    port: PortShape,
    value: float,
    room_left: float,
    what: str,
    items: tuple[str, ...],
    away: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> Iterator[Finding]:
    """One finding at most: the fitting is blocked, or there is no room to turn it."""
    touch, room = scene.limit("fitting-blocked"), scene.limit("spanner-room")
    blocked = value < touch - 1e-6
    if not blocked and (room_left >= room - 1e-6 or is_plugged(port)):
        return
    limit, value = (touch, value) if blocked else (room, room_left)
    yield Finding(
        rule="fitting-blocked" if blocked else "spanner-room",
        level="error" if blocked else "warning",
        items=items,
        value=value,
        limit=limit,
        unit="mm",
        at=port.at,
        message=f"The fitting of {port.item.id} runs into {what}."
        if value <= 0
        else f"The fitting of {port.item.id} has {mm(value)} to {what}; "
        + (f"{mm(touch)} is the minimum." if blocked else f"a hand needs about {mm(room)}."),
        remedy=f"Move the port {mm(limit - value)} away, or choose a slimmer or shorter fitting."
        if port.heading is None
        else f"Move the port along its edge, draw the plate's edge in by {mm(limit - value)} there, or choose a "
        "slimmer or shorter fitting.",
        **ways(
            *_from(scene, port, away, limit - value + moving_apart.HAIR_MM),
            *_from(scene, port, away, max(touch, room) - min(value, room_left) + moving_apart.HAIR_MM),
        ),
    )


def _from(scene: Scene, port: PortShape, away: tuple[float, float, float], far: float) -> Iterator[Fix | None]:
    """A port moved away from what is beside it; an edge port along its edge."""
    if port.heading is not None:
        yield from moving_apart.along_the_edge(scene, port.item.id, far)
    elif math.hypot(away[0], away[1]) > 0.5:
        yield moving_apart.moved(scene, port.item.id, (-away[0] * far, -away[1] * far))


@rules(
    Rule("screw-head", "fits", "Room around a lid screw's head", 0.5, "mm",
         "A head that lies under a fitting cannot be turned.", PRACTICE),
    named=True,
)  # fmt: skip
def beside_lid_screws(scene: Scene) -> Iterator[Finding]:
    """Heads of lid screws beside fittings on the lid's face. Those of other screws are held with all that is hard."""
    limit, bodies = scene.limit("screw-head"), bodies_of(scene)
    lid = [head for head in bodies.heads if scene.shapes.holes[head.id].item.use == "lid"]
    upright = {body.id: port for port, body in bodies.fittings if port.heading is None}
    fittings = [body for port, body in bodies.fittings if port.item.id in upright]
    for head, fitting in near_pairs(lid, fittings, limit + 0.1):
        port, hole = upright[fitting.id], scene.shapes.holes[head.id]
        if port.item.face != hole.item.face or hole.screw is None:
            continue
        apart = math.dist(port.at, (hole.item.x_mm, hole.item.y_mm))
        value = apart - hole.screw.cap_head.diameter_mm / 2 - port.item.fitting_diameter_mm / 2
        if value >= limit - 1e-9:
            continue
        by = moving_apart.apart((shapely.Point(port.at), port.item.fitting_diameter_mm / 2), (head.area, 0.0), limit)
        yield Finding(
            rule="screw-head",
            level="warning" if value >= 0 else "error",
            items=(head.id, fitting.id),
            value=value,
            limit=limit,
            unit="mm",
            at=(hole.item.x_mm, hole.item.y_mm),
            message=f"The head of {head.id} has {mm(value)} to the fitting of {fitting.id}."
            if value >= 0
            else f"The head of {head.id} and the fitting of {fitting.id} overlap by {mm(-value)}.",
            remedy=f"Move the screw {mm(limit - value)} away.",
            fix=None if by is None else moving_apart.moved(scene, head.id, by),
            cause=Cause(
                "head",
                f"{{count}} lid screws have less than {mm(limit)} to a fitting.",
                "Move them away from the fittings.",
            ),
        )
