"""Does it fit: the screws that hold the plate, boards and devices to the case floor, and the floor's openings.

A finished plate has mounting screws: its channels are drawn, and still nothing may hold it.

A screw over an opening goes into nothing; one at its rim has too little sheet beside it. An opening that lies within
the screw's washer is taken for the screw's own hole in the case.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import shapely
from shapely import Geometry

from sketcher.checks import moving_apart
from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene, at_least
from sketcher.checks.space import bodies_of
from sketcher.document.joined import open_connections
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Cause, Change, Finding, Fix, Level, Point, Rule, mm
from sketcher.geometry.bodies import Body
from sketcher.geometry.following import screw_places
from sketcher.geometry.shapes import HoleShape

#: What stands higher than this over the floor is not screwed to it: no spacer is longer. Common practice, no source.
HIGHEST_MM = 50.0


#: One screw alone lets the plate turn about it. Common practice, no source.
LEAST_SCREWS = 2


@dataclass(frozen=True)
class Screw:
    """A screw that goes down into the floor: whose it is, its hole's name there, its axis, the radii of its hole and of
    its washer, mm."""

    item: str
    hole: str
    at: Point
    radius: float
    washer: float


@rules(
    Rule("mount-opening", "fits", "Screws that hold a thing to the case floor have sheet around them, no opening", 1.0,
         "mm", "Over an opening of the floor a screw goes into nothing, and beside it it tears out.", PRACTICE),
    local=True, reads=("holes", "boards", "devices", "cutouts"),
)  # fmt: skip
def over_openings(scene: Scene) -> Iterator[Finding]:
    """Mounting screws of the plate, and of boards and devices that stand on the floor, over openings or beside them."""
    openings = {id_: sound(area.polygon) for id_, area in scene.shapes.openings.items()}
    if not openings:
        return
    limit = at_least(scene.limit("mount-opening"))
    worst: dict[tuple[str, str], tuple[float, Screw, int]] = {}
    for screw in (*_of_the_plate(scene), *_of_hardware(scene)):
        for id_, area in openings.items():
            value = _rooms.of((screw, scene.shapes.openings[id_]), None, partial(_room, screw, area))
            if value is None or value >= limit - 1e-6:
                continue
            known = worst.get((screw.item, id_))
            count = 1 if known is None else known[2] + 1
            worst[screw.item, id_] = (value, screw, count) if known is None or value < known[0] else (*known[:2], count)
    for (_, id_), (value, screw, count) in worst.items():
        yield _finding(scene, id_, openings[id_], screw, value, limit, count)


_rooms: Remembered[float | None] = Remembered()
_mounts: Remembered[Screw | None] = Remembered()


def _of_the_plate(scene: Scene) -> Iterator[Screw]:
    document = scene.document
    for hole in scene.shapes.holes.values():
        if hole.item.use == "mount" and hole.item.kind != "tapped":
            screw = _mounts.of((hole, document.floor, document.plate), None, partial(_mount, scene, hole))
            if screw is not None:
                yield screw


def _mount(scene: Scene, hole: HoleShape) -> Screw | None:
    """The screw in a hole of the plate; none where a spacer of the case is under it."""
    bodies, at = bodies_of(scene), (hole.item.x_mm, hole.item.y_mm)
    if any(_carries(obstacle, bodies.plate, *at) for obstacle in bodies.obstacles):
        return None
    radius = (hole.screw.clearance_mm if hole.screw is not None else hole.diameter) / 2
    washer = 2 * radius if hole.screw is None else hole.screw.washer_mm / 2
    return Screw(hole.item.id, hole.item.id, at, radius, washer)


def _of_hardware(scene: Scene) -> Iterator[Screw]:
    """Of what stands on the floor itself, with nothing between: the plate, an obstacle, another board or device."""
    bodies = bodies_of(scene)
    held = {item.id: item.held_by for item in (*scene.document.boards, *scene.document.devices)}
    hard = [bodies.plate, *bodies.obstacles, *bodies.hardware]
    for body in bodies.hardware:
        if held[body.id] is not None or body.low > HIGHEST_MM or body.low < -1e-6:
            continue
        for name, (x, y, width) in screw_places(scene.shapes, body.id).items():
            if not any(_carries(other, body, x, y) for other in hard):
                yield Screw(body.id, name, (x, y), width / 2, width)  # a washer is twice as wide as its hole


def _carries(other: Body, body: Body, x: float, y: float) -> bool:
    """Whether another thing is under a body's screw, and not only the floor."""
    under = other.id != body.id and other.high <= body.low + 0.5
    return under and bool(shapely.intersects(other.area, shapely.Point(x, y)))


def _room(screw: Screw, opening: Geometry) -> float | None:
    """Sheet between a screw's hole and an opening, mm, below 0 where it reaches into it; none for its own hole."""
    axis = shapely.Point(screw.at)
    far = float(shapely.distance(shapely.points(shapely.get_coordinates(opening)), axis).max())
    if far <= screw.washer + 0.02:  # outlines with arcs are drawn up to a hundredth too large
        return None
    if shapely.contains(opening, axis):
        return -float(shapely.distance(shapely.boundary(opening), axis)) - screw.radius
    return float(shapely.distance(opening, axis)) - screw.radius


def _finding(
    scene: Scene, id_: str, opening: Geometry, screw: Screw, value: float, limit: float, count: int
) -> Finding:
    of_plate = screw.item in scene.shapes.holes
    name = f"The mounting screw {screw.item}" if of_plate else f"The mounting screw {screw.hole} of {screw.item}"
    inside = bool(shapely.contains(opening, shapely.Point(screw.at)))
    says = (
        f"is over the opening {id_} and goes into nothing"
        if inside
        else f"reaches {mm(-value)} into the opening {id_}"
        if value < 0
        else f"has {mm(value)} of the floor between it and the opening {id_}; {mm(limit)} is the minimum"
    )
    more = "" if count == 1 else f" {count - 1} more of {screw.item} are too near to it."
    level: Level = "error" if of_plate else "warning"  # what else a board stands on is not in the document
    return Finding(
        rule="mount-opening",
        level=level,
        items=(screw.item, id_),
        value=value,
        limit=limit,
        unit="mm",
        at=screw.at,
        message=f"{name} {says}.{more}",
        remedy=f"Move it {mm(limit - value)} away from the opening, or make the opening smaller."
        if of_plate
        else f"Move {screw.item} {mm(limit - value)} away, bridge the opening there, or accept this when {screw.item} "
        "is screwed to something else.",
        fix=_away(scene, opening, screw, value, limit) if of_plate else None,
    )


def _away(scene: Scene, opening: Geometry, screw: Screw, value: float, limit: float) -> Fix | None:
    """A hole of the plate moved off an opening by the shortest way."""
    (x0, y0), (x1, y1) = shapely.shortest_line(shapely.Point(screw.at), shapely.boundary(opening)).coords
    size = math.hypot(x1 - x0, y1 - y0)
    if size < 1e-9:
        return None
    far = limit - value + moving_apart.HAIR_MM
    sign = 1.0 if shapely.contains(opening, shapely.Point(screw.at)) else -1.0
    by = (sign * (x1 - x0) / size * far, sign * (y1 - y0) / size * far)
    return moving_apart.moved(scene, screw.item, by)


@rules(
    Rule("mount-none", "fits", "Mounting screws hold the plate to the case floor", LEAST_SCREWS, "",
         "A plate that nothing holds hangs on its tubes when the case is carried, and holes that are drilled "
         "afterwards meet channels.", PRACTICE),
    reads=("holes",),
)  # fmt: skip
def held_at_all(scene: Scene) -> Iterator[Finding]:
    """Mounting holes of a plate with channels: a note while these are drawn, a warning when they are all there."""
    document, limit = scene.document, scene.limit("mount-none")
    mounts = [hole for hole in document.holes if hole.use == "mount"]
    if len(mounts) >= limit or not (document.channels and document.ports):
        return
    level: Level = "warning" if _drawn(scene) else "note"
    own = " (holes for something else do not count)" if any(hole.use == "other" for hole in document.holes) else ""
    if mounts:
        only = mounts[0]
        message = f"{only.id} is the plate's only mounting hole: the plate can turn about its screw."
        remedy = "Add a second mounting hole far from it, or accept this and say what else holds the plate."
        at: Point | None = (only.x_mm, only.y_mm)
    else:
        message = f"No mounting screw holds the plate to the case floor{own}."
        remedy = (
            f"Add {limit:.0f} mounting holes or more, far apart and clear of the channels, or accept this and say what "
            "else holds the plate."
        )
        at = None
    yield Finding(
        "mount-none", level, tuple(hole.id for hole in mounts), message, remedy, float(len(mounts)), limit, "", at
    )


def _drawn(scene: Scene) -> bool:
    """Whether the plate's channels are all there: each port is reached, and each connection drawn."""
    document = scene.document
    reached = {end for channel in document.channels for end in (channel.start, channel.end)}
    ports = [port.id for port in document.ports if port.use != "plugged"]
    return reached.issuperset(ports) and not open_connections(document)


@rules(
    Rule("mount-side", "fits", "Heads of mounting screws are where a screw goes in", HIGHEST_MM, "mm",
         "Between plate and case floor is no room to put a screw in.", PRACTICE),
    reads=("holes",),
)  # fmt: skip
def heads_below(scene: Scene) -> Iterator[Finding]:
    """Recesses for heads of mounting screws in the plate's underside, over the case floor."""
    room, limit = scene.document.plate.z_mm, scene.limit("mount-side")
    if room >= limit:
        return
    for index, hole in enumerate(scene.document.holes):
        if hole.use != "mount" or hole.face != "bottom" or hole.kind not in ("countersunk", "counterbored"):
            continue
        yield Finding(
            "mount-side", "warning", (hole.id,), f"The head of {hole.id} is in the plate's underside, {mm(room)} over "
            f"the case floor; a screw and its key need about {mm(limit)} there.",
            "Set its side to the top, or its use to something else.", room, limit, "mm", (hole.x_mm, hole.y_mm),
            fix=None if hole.locked else Fix(f"Put the head of {hole.id} on top",
                                             (Change(f"/holes/{index}/face", "top"),)),
            cause=Cause("side", f"The heads of {{count}} mounting screws are in the plate's underside, {mm(room)} over "
                        "the case floor.", "Set their side to the top, or their use to something else."),
        )  # fmt: skip
