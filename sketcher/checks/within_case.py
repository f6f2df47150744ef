"""Does it fit in the case: boards, devices, screw heads and the plate against its walls, its ceiling and its floor."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely import Geometry

from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.checks.space import bodies_of, chain, moved_clear
from sketcher.findings import PRACTICE, Change, Finding, Fix, Point, Rule, mm, ways
from sketcher.geometry.bodies import Body


@rules(
    Rule("outside-case", "fits", "Boards, devices and screw heads stand inside the case's walls", 0.0, "mm",
         "What reaches through a wall does not go in.", PRACTICE),
    Rule("above-ceiling", "fits", "Plate, screw heads, boards and devices stay below what closes the case", 0.0, "mm",
         "The case has to close.", PRACTICE),
    Rule("through-floor", "fits", "Boards and devices stay above the case floor", 0.0, "mm",
         "Only over an opening does a thing go through the floor.", PRACTICE),
    named=True,
    reads=("boards", "devices", "holes"),
)  # fmt: skip
def in_the_case(scene: Scene) -> Iterator[Finding]:
    """Boards, devices and the plate against the case's walls, its ceiling and its floor."""
    bodies, ceiling = bodies_of(scene), scene.document.floor.clear_height_mm
    floor = sound(scene.shapes.floor_polygon)
    over = _Holders(scene)
    for body in (*bodies.hardware, *_not_within(bodies.heads, floor)):
        name, at = f"The {body.kind} {body.id}", _middle(body.area)
        beyond = _beyond(body.area, floor)
        if scene.limit("outside-case") - beyond > 0.02:
            back = _back(body.area, floor)
            if not any(_farther_out(holder, floor, beyond, back) for holder in over.of(body, "outside-case")):
                yield Finding(
                    "outside-case", "error", (body.id,), f"{name} reaches {mm(-beyond)} beyond the case's wall.",
                    f"Move it {mm(-beyond)} inwards, or measure the floor again.",
                    beyond, scene.limit("outside-case"), "mm", at,
                    **ways(*moved_clear(scene, body.id, back, -beyond)),
                )  # fmt: skip
        if body.kind == "screw head":
            continue  # what hangs below the plate has a rule of its own
        lower = (holder for holder in over.of(body, "through-floor") if holder.low <= body.low)
        if (
            body.low < scene.limit("through-floor") - 1e-6
            and not _through(body, scene)
            and all(_through(holder, scene) for holder in lower)
        ):
            yield Finding(
                "through-floor", "error", (body.id,), f"{name} reaches {mm(-body.low)} below the case floor.",
                f"Raise it by {mm(scene.limit('through-floor') - body.low)}.",
                body.low, scene.limit("through-floor"), "mm", at,
                **ways(*moved_clear(scene, body.id, (0.0, 0.0, 1.0), scene.limit("through-floor") - body.low)),
            )  # fmt: skip
    yield from _ports_beyond(scene, floor, ceiling)
    if ceiling is None:
        return
    limit = scene.limit("above-ceiling")
    for body in (bodies.plate, *bodies.hardware, *bodies.heads):
        value = ceiling - body.high
        if value < limit - 1e-6 and all(holder.high < body.high for holder in over.of(body, "above-ceiling")):
            name = f"The {body.kind} {body.id}".rstrip()
            yield Finding(
                "above-ceiling", "error", (body.id,) if body.id else (),
                f"{name} stands {mm(-value)} higher than the case closes, at {mm(ceiling)}."
                if value < 0 else f"{name} has {mm(value)} to what closes the case; {mm(limit)} is the minimum.",
                f"Lower it by {mm(limit - value)}.", value, limit, "mm", _middle(body.area),
                **ways(*(moved_clear(scene, body.id, (0.0, 0.0, -1.0), limit - value)
                         if body.id else [_lower(scene, limit - value)])),
            )  # fmt: skip


class _Holders:
    """What holds each body: brought back into the case, what it holds comes along. What is told of a thing's holder is
    not told of the thing too, where that lacks no more in the same direction and nobody has accepted it."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._hardware = {body.id: body for body in bodies_of(scene).hardware}
        self._accepted = {(entry.rule, item) for entry in scene.document.accepted for item in entry.items}

    def of(self, body: Body, rule: str) -> list[Body]:
        """The bodies of all that holds it, less what is accepted under a rule; none of two that hold each other."""
        above = chain(self._scene, body.id) - {body.id} if body.id in self._hardware else ()
        return [
            self._hardware[name]
            for name in above
            if name in self._hardware and (rule, name) not in self._accepted and body.id not in chain(self._scene, name)
        ]


def _farther_out(holder: Body, floor: Geometry, beyond: float, back: tuple[float, float, float]) -> bool:
    """Whether a holder reaches as far beyond the same wall as what it holds, or farther."""
    return _beyond(holder.area, floor) <= beyond and math.dist(_back(holder.area, floor), back) < 1e-6


def _through(body: Body, scene: Scene) -> bool:
    """Whether a body goes down through an opening of the floor, which it may."""
    return any(shapely.covers(sound(opening.polygon), body.area) for opening in scene.shapes.openings.values())


def _ports_beyond(scene: Scene, floor: Geometry, ceiling: float | None) -> Iterator[Finding]:
    """Of a device without an outline its ports are all that is known: none is beyond wall, floor or ceiling."""
    openings = shapely.union_all([sound(opening.polygon) for opening in scene.shapes.openings.values()])
    bare = {device.id for device in scene.document.devices if device.outline is None}
    for id_ in sorted(bare):
        ports = [port for port in scene.shapes.device_ports.values() if port.device == id_]
        rows = [
            (port, -float(shapely.distance(floor, shapely.Point(port.x, port.y))), "outside-case") for port in ports
        ]
        rows += [(port, port.z, "through-floor") for port in ports
                 if not shapely.covers(openings, shapely.Point(port.x, port.y))]  # fmt: skip
        rows += [(port, ceiling - port.z, "above-ceiling") for port in ports if ceiling is not None]
        for rule, said in (("outside-case", "beyond the case's wall"), ("through-floor", "below the case floor"),
                           ("above-ceiling", "above what closes the case")):  # fmt: skip
            port, value, _ = min(
                (row for row in rows if row[2] == rule), key=lambda row: row[1], default=(None, 0.0, "")
            )
            if port is None or value >= -0.02:
                continue
            yield Finding(
                rule, "error", (id_,), f"The port {port.ref} of {id_} is {mm(-value)} {said}.",
                f"Move {id_} {mm(-value)} back.", value, 0.0, "mm", (port.x, port.y),
            )  # fmt: skip


def _lower(scene: Scene, by: float) -> Fix | None:
    z = round(scene.document.plate.z_mm - by - scene.thicker_mm - 0.0005, 3)
    return Fix(f"Lower the plate to {mm(z)}", (Change("/plate/z_mm", z),)) if z >= 0 else None


def _back(area: Geometry, floor: Geometry) -> tuple[float, float, float]:
    """The direction in which what reaches farthest beyond the floor comes back to it soonest."""
    places = shapely.points(shapely.get_coordinates(shapely.difference(area, floor)))
    k = int(np.argmax(shapely.distance(places, floor)))
    farthest = shapely.Point(shapely.get_coordinates(places)[k])
    (x0, y0), (x1, y1) = shapely.shortest_line(farthest, floor).coords
    size = math.hypot(x1 - x0, y1 - y0) or 1.0
    return ((x1 - x0) / size, (y1 - y0) / size, 0.0)


def _not_within(heads: list[Body], floor: Geometry) -> list[Body]:
    areas = np.array([head.area for head in heads], dtype=object)
    return [head for head, inside in zip(heads, shapely.covers(floor, areas), strict=True) if not inside]


def _middle(area: Geometry) -> Point:
    place = shapely.point_on_surface(area)
    return (place.x, place.y)


def _beyond(area: Geometry, floor: Geometry) -> float:
    """How far an area stays within the floor: 0 when it does, negative by how far it reaches beyond."""
    outside = shapely.difference(area, floor)
    if shapely.is_empty(outside):
        return 0.0
    return -float(shapely.distance(shapely.points(shapely.get_coordinates(outside)), floor).max())
