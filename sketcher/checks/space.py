"""Does it fit, in space: boards, devices, obstacles, plate and tubes, against each other and against the case."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property, partial

import numpy as np
import shapely
from shapely import Geometry

from sketcher.checks import moving_apart
from sketcher.checks.body_pairs import known_gap, near_pairs, worst_of_pairs
from sketcher.checks.plate_solid import PlateSolid, sound, whole_plate
from sketcher.checks.running import rules
from sketcher.checks.scene import TOUCH_MM, Scene
from sketcher.document import holders
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Change, Finding, Fix, Rule, mm, pair, steps, ways
from sketcher.geometry.bodies import Body, Gap, from_frame, gap, lying_cylinder
from sketcher.geometry.levels import above_floor_mm
from sketcher.geometry.placement import Frame
from sketcher.geometry.rounds import discs_around
from sketcher.geometry.shapes import AreaShape, HoleShape, PortShape, Shapes


class Bodies:
    """What is hard in a scene, made once. ``plate`` is its plate's area, made valid."""

    def __init__(self, shapes: Shapes, plate: Geometry) -> None:
        self._shapes, self._document, self._plate = shapes, shapes.document, plate

    @cached_property
    def hardware(self) -> list[Body]:
        """Boards, and devices with an outline."""
        return [self._framed(area) for area in (*self._shapes.boards.values(), *self._shapes.devices.values())]

    def _framed(self, area: AreaShape) -> Body:
        frame = self._shapes.frames[area.id]
        return _framed.of((area,), (frame.origin.tobytes(), frame.axes.tobytes()), lambda: _in_frame(area, frame))

    @cached_property
    def obstacles(self) -> list[Body]:
        """What stands on the floor."""
        return [
            Body(area.id, "obstacle", sound(area.polygon), area.low, area.high)
            for area in self._shapes.obstacles.values()
        ]

    @cached_property
    def plate(self) -> Body:
        """The plate without its cutouts, as one prism."""
        return whole_plate(self._shapes, self._plate)

    @cached_property
    def solid(self) -> PlateSolid:
        """The plate without its cutouts and pockets, to measure distances to."""
        return PlateSolid(self._shapes, self.plate)

    @property
    def plate_heights(self) -> tuple[float, float]:
        """Underside and top of the plate, mm above the floor."""
        return self._document.plate.z_mm, above_floor_mm(self._document, self._shapes.thickness)

    @cached_property
    def fittings(self) -> list[tuple[PortShape, Body]]:
        """The fitting, or the plug, of every port that has one: upright over its face, or lying before its edge."""
        ports = self._shapes.ports.values()
        return [(port, self._known_fitting(port)) for port in ports if not (is_plugged(port) and port.thread is None)]

    @cached_property
    def _rounds(self) -> dict[str, Geometry]:
        """The fittings of the faces from above, never too small."""
        ports = [port for port in self._shapes.ports.values() if port.heading is None]
        areas = discs_around([port.at for port in ports], [port.item.fitting_diameter_mm / 2 for port in ports])
        return {port.item.id: area for port, area in zip(ports, areas, strict=True)}

    def _known_fitting(self, port: PortShape) -> Body:
        loop = self._document.loop
        return _fittings.of((port,), (self.plate_heights, loop.fitting_straight_mm), lambda: self._fitting(port))

    def root_of(self, port: PortShape) -> Body:
        """The half of a lying fitting that is next to the plate: where a spanner goes. The whole of an upright one."""
        return self._fitting(port, 0.5)

    def _fitting(self, port: PortShape, share: float = 1.0) -> Body:
        (z, top), need = self.plate_heights, height_over(port, self._document.loop.fitting_straight_mm)
        if port.heading is not None:
            start = np.array([*port.at, above_floor_mm(self._document, port.rise)])
            # It is about as long as it is wide; only then comes the tube.
            far = min(need, port.item.fitting_diameter_mm) if is_plugged(port) else port.item.fitting_diameter_mm
            end = start - np.array([*port.heading, 0.0]) * far * share
            shadow = port.fitting if share == 1.0 else _strip(port, port.item.fitting_diameter_mm / 2)
            return lying_cylinder(port.item.id, "fitting", start, end, port.item.fitting_diameter_mm / 2, shadow)
        disc = self._rounds[port.item.id]
        if port.item.face == "top":
            return Body(port.item.id, "fitting", disc, top, top + need)
        return Body(port.item.id, "fitting", disc, z - need, z)

    @cached_property
    def drops(self) -> list[Body]:
        """The tubes from ports on the top face to the devices above them, upright or slanted."""
        found = []
        _, top = self.plate_heights
        radius = self._document.loop.tube_outer_diameter_mm / 2
        for port in self._shapes.ports.values():
            served = self._shapes.device_ports.get(port.item.serves or "")
            if served is None or port.item.face != "top" or served.z <= top + 1e-6:
                continue
            ways = (top, radius, served.x, served.y, served.z)
            found.append(_drops.of((port,), ways, partial(_drop, port, *ways)))
        return found

    @cached_property
    def heads(self) -> list[Body]:
        """Screw heads that stand out of the plate."""
        under, top = self.plate_heights
        sizes = [(hole, size) for hole in self._shapes.holes.values() if (size := head_outside(hole)) is not None]

        def made(new: list[int]) -> Iterator[Body]:
            rows = [sizes[n] for n in new]
            areas = discs_around([(hole.item.x_mm, hole.item.y_mm) for hole, _ in rows], [size[0] for _, size in rows])
            for (hole, (_, height)), area in zip(rows, areas, strict=True):
                low = top if hole.item.face == "top" else under - height
                yield Body(hole.item.id, "screw head", area, low, low + height)

        return _heads.all([((hole,), (under, top)) for hole, _ in sizes], made)


_fittings: Remembered[Body] = Remembered()
_heads: Remembered[Body] = Remembered()
_drops: Remembered[Body] = Remembered()


_framed: Remembered[Body] = Remembered()


def _in_frame(area: AreaShape, frame: Frame) -> Body:
    assert area.plan is not None
    return from_frame(area.id, area.kind, frame, area.plan, area.levels, area.polygon)


def _drop(port: PortShape, top: float, radius: float, x: float, y: float, z: float) -> Body:
    """The tube straight from a port up to a place."""
    start, end = np.array([*port.at, top]), np.array([x, y, z])
    if np.hypot(*(end - start)[:2]) < 1e-6:
        return Body(port.item.id, "tube", discs_around([port.at], [radius])[0], top, z)
    shadow = shapely.LineString([port.at, (x, y)]).buffer(radius)
    return lying_cylinder(port.item.id, "tube", start, end, radius, shadow)


def _strip(port: PortShape, half: float) -> Geometry:
    assert port.heading is not None
    (x, y), (hx, hy) = port.at, port.heading
    return shapely.LineString([(x, y), (x - hx * half, y - hy * half)]).buffer(half, cap_style="flat")


#: A plug's collar stands so high over its face, mm. Common practice, no source.
PLUG_MM = 5.0


def is_plugged(port: PortShape) -> bool:
    """Whether a port is closed for good, by a plug and no fitting: it needs no tube, and no hand beside it."""
    return port.item.use == "plugged"


def height_over(port: PortShape, straight_mm: float) -> float:
    """How high a port's fitting stands with the tube's straight, or its plug, mm."""
    return PLUG_MM if is_plugged(port) else straight_mm


def bodies_of(scene: Scene) -> Bodies:
    """The scene's hard bodies."""
    return scene.once(_bodies)


def _bodies(scene: Scene) -> Bodies:
    return Bodies(scene.shapes, scene.plate)


def head_outside(hole: HoleShape) -> tuple[float, float] | None:
    """Radius and height of a head that stands out of the plate; none when it is sunk or holds something else."""
    if hole.screw is None or hole.head is not None:
        return None
    if hole.item.kind == "tapped" and hole.item.use != "lid":
        return None
    return hole.screw.cap_head.diameter_mm / 2, hole.screw.cap_head.height_mm


def chain(scene: Scene, id_: str) -> set[str]:
    """A thing and what holds it: the card that carries the block, the riser that carries the card."""
    return set(holders.chain(scene.once(_holders), id_))


def _holders(scene: Scene) -> dict[str, str | None]:
    return holders.holders(scene.document)


@rules(
    Rule("bodies-overlap", "fits", "No two boards or devices in one place", 0.0, "mm",
         "Two things cannot be where one is. What is held by another, or stands in its slot, may touch it.", PRACTICE),
    Rule("body-obstacle", "fits", "Boards and devices keep out of what stands on the floor", 0.0, "mm",
         "A device does not go where the case has a bracket.", PRACTICE),
    Rule("head-blocked", "fits", "Screw heads keep clear of boards, devices, obstacles, fittings and each other", 0.0,
         "mm", "A screw that cannot be put in holds nothing.", PRACTICE),
    named=True, reads=("boards", "devices", "holes"),
)  # fmt: skip
def between_bodies(scene: Scene) -> Iterator[Finding]:
    """Boards, devices, obstacles and screw heads against each other."""
    yield from _clashes(scene, _hard(bodies_of(scene)))


@rules(
    Rule("plate-body", "fits", "Boards and devices keep out of the plate", 0.0, "mm",
         "A device may stand on the plate or in a cutout, not in the plate.", PRACTICE),
    local=True, reads=("boards", "devices", "cutouts", "pockets"),
)  # fmt: skip
def in_the_plate(scene: Scene) -> Iterator[Finding]:
    """Boards and devices against the plate; what is cut out of it beside them names neither: a third thing."""
    bodies = bodies_of(scene)
    if bodies.hardware:  # the plate less its cutouts is costly
        yield from _clashes(scene, (("plate-body", [bodies.plate], bodies.hardware),))


@rules(named=True, reads=("ports", "holes"))  # its rule is registered above
def heads_at_fittings(scene: Scene) -> Iterator[Finding]:
    """Screw heads against fittings."""
    bodies = bodies_of(scene)
    yield from _clashes(scene, (("head-blocked", [body for _, body in bodies.fittings], bodies.heads),))


Group = tuple[str, list[Body], list[Body]]


def _hard(bodies: Bodies) -> tuple[Group, ...]:
    return (
        ("bodies-overlap", bodies.hardware, bodies.hardware),
        ("body-obstacle", bodies.hardware, bodies.obstacles),
        ("head-blocked", bodies.hardware, bodies.heads),
        ("head-blocked", bodies.obstacles, bodies.heads),
        ("head-blocked", bodies.heads, bodies.heads),
    )


def _clashes(scene: Scene, groups: Iterable[Group]) -> Iterator[Finding]:
    """What of these groups is nearer to each other than its rule allows."""
    bodies = bodies_of(scene)
    lid = {id_ for id_, hole in scene.shapes.holes.items() if hole.item.use == "lid"}
    for rule, ones, others in groups:
        limit = scene.limit(rule)
        for one, other in near_pairs(ones, others, limit + 0.1):
            if one.kind == "fitting" and other.id in lid and not one.pieces:
                continue  # the room around a lid screw's head has a rule of its own
            if one.kind == "obstacle" and _stands_under(bodies.plate_heights[0], one, other):
                continue  # what hangs below the plate has a rule of its own
            if other.id in chain(scene, one.id) or one.id in chain(scene, other.id):
                continue
            between = bodies.solid.gap(other) if one.kind == "plate" else gap(one, other)
            if between.value < limit - TOUCH_MM:
                yield _in_the_way(scene, rule, one, other, between, limit)


def _stands_under(underside: float, obstacle: Body, head: Body) -> bool:
    if obstacle.high >= underside or head.high > underside + 1e-9:
        return False
    return bool(shapely.intersects(obstacle.area, head.area))


def _in_the_way(scene: Scene, rule: str, one: Body, other: Body, between: Gap, limit: float) -> Finding:
    names = [f"the {body.kind} {body.id}".rstrip() for body in (one, other)]
    items = pair(one.id, other.id) if one.id else (other.id,)
    missing, (x, y, z) = limit - between.value, between.away
    dx, dy = round(x * missing, 2) + 0.0, round(y * missing, 2) + 0.0
    way = f"{mm(missing)} {'up' if z > 0 else 'down'}" if abs(z) > 0.9 else steps(dx, dy)
    text = f"{names[0]} and {names[1]} " + (
        f"overlap by {mm(-between.value)}."
        if between.value < -0.005
        else "overlap by less than 0.01 mm."
        if between.value < 0
        else f"are {mm(between.value)} apart; {mm(limit)} is the minimum."
    )
    return Finding(
        rule=rule,
        level="error",
        items=items,
        value=between.value,
        limit=limit,
        unit="mm",
        at=((between.line[0][0] + between.line[1][0]) / 2, (between.line[0][1] + between.line[1][1]) / 2),
        line=between.line,
        message=text[0].upper() + text[1:],
        remedy=f"Move {other.id} aside, sink its head, or move {one.id} {mm(missing)} away."
        if other.kind == "screw head" and abs(z) > 0.9
        else f"Move {other.id} {way}, or {one.id} the opposite way."
        if one.id
        else f"Move {other.id} {way}, or give the plate a cutout for it.",
        **ways(*moved_clear(scene, other.id, (x, y, z), missing), *moved_clear(scene, one.id, (-x, -y, -z), missing)),
    )


#: So much farther than just clear a thing is moved, mm, when its place is too unsure for just clear.
_SURELY_MM = 2.0


def moved_clear(scene: Scene, id_: str, away: tuple[float, float, float], missing: float) -> list[Fix | None]:
    """A thing moved just clear, up or down for the thickest sheets too; or farther, for how unsure its place is."""
    first = scene.thicker_mm if abs(away[2]) > 0.9 else 0.0
    return [_moved(scene, id_, away, missing + first + more) for more in (0.0, _SURELY_MM)]


def raised(scene: Scene, id_: str, by: float) -> list[Fix | None]:
    """A free-standing board or device raised by so much, mm, or by a little more."""
    return moved_clear(scene, id_, (0.0, 0.0, 1.0), by)


def _moved(scene: Scene, id_: str, away: tuple[float, float, float], missing: float) -> Fix | None:
    """A free-standing board or device moved clear; a screw hole in plan."""
    if id_ in scene.shapes.holes:
        far = missing + moving_apart.HAIR_MM
        return moving_apart.moved(scene, id_, (away[0] * far, away[1] * far)) if abs(away[2]) < 1e-6 else None
    for key in ("boards", "devices"):
        for index, item in enumerate(getattr(scene.document, key)):
            if item.id == id_ and item.held_by is None and not item.locked:
                far = missing + 0.01
                values = ("x_mm", item.x_mm), ("y_mm", item.y_mm), ("z_mm", item.z_mm)
                changes = tuple(
                    Change(f"/{key}/{index}/{name}", round(value + part * far, 3))
                    for (name, value), part in zip(values, away, strict=True)
                    if abs(part) > 1e-6
                )
                return Fix(f"Move {id_} by {mm(far)}", changes)
    return None


@rules(
    Rule("tube-blocked", "fits", "A tube's way from its port to its device is free", 0.0, "mm",
         "A hard tube goes round nothing that is in its way.", PRACTICE),
    named=True,
    after=worst_of_pairs,
)  # fmt: skip
def tubes(scene: Scene) -> Iterator[Finding]:
    """Tubes that drop to the plate against what is hard, beside what they are joined to."""
    bodies, limit = bodies_of(scene), scene.limit("tube-blocked")
    loop = scene.document.loop
    if loop.tube_size is not None:
        return  # then every tube has a course of its own, which has its own rules
    own = {port.id for port in scene.document.ports if port.tube is not None}
    hard = [*bodies.hardware, *bodies.obstacles]
    need = loop.fitting_straight_mm
    _, top = bodies.plate_heights
    others = [*hard, *bodies.drops]
    # An upright tube stands within its own fitting, which is held clear of the other fittings and of screw heads.
    slanted = any(drop.pieces for drop in bodies.drops)
    others += [*(body for _, body in bodies.fittings), *bodies.heads] if slanted else []
    # A tube whose course is drawn does not run straight: it is measured in space, by the rules of tubes.
    drawn = {port.id for port in scene.document.ports if port.tube is not None and port.tube.points}
    for drop, other in near_pairs(bodies.drops, others, limit + 0.1):
        if drop.id in drawn or (other.kind == "tube" and other.id in drawn):
            continue
        port = scene.shapes.ports[drop.id]
        if drop.id in own or (other.kind in ("fitting", "screw head") and (other.id == drop.id or not drop.pieces)):
            continue
        assert port.item.serves is not None
        served = scene.shapes.device_ports[port.item.serves].device
        if other.kind in ("board", "device", "obstacle") and (
            other.id in chain(scene, served)
            or (other.low < top + need and shapely.intersects(other.area, port.fitting))
        ):
            continue  # what it is joined to; what stands over the fitting is another rule's
        between = known_gap(drop, other)
        if between.value >= limit - TOUCH_MM:
            continue
        of = {"tube": "the tube to", "fitting": "the fitting of", "screw head": "the screw head of"}
        what = f"{of.get(other.kind, f'the {other.kind}')} {other.id}"
        yield Finding(
            rule="tube-blocked",
            level="error",
            items=(drop.id, other.id),
            value=between.value,
            limit=limit,
            unit="mm",
            at=port.at,
            line=between.line,
            message=f"The tube from {drop.id} to {port.item.serves} runs into {what}."
            if between.value < 0
            else f"The tube from {drop.id} passes {what} at {mm(between.value)}; {mm(limit)} is the minimum.",
            remedy=f"Move {drop.id} and its device port aside, or move {other.id} away.",
        )
