"""Does it fit in height: fittings and tubes above the plate, what hangs below it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from sketcher.checks.each import Found, each
from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.checks.space import PLUG_MM, bodies_of, chain, height_over, is_plugged, raised
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Cause, Change, Finding, Fix, Rule, mm, ways
from sketcher.geometry.levels import above_floor_mm
from sketcher.geometry.shapes import AreaShape, PortShape


@rules(
    Rule("height-above", "fits", "Room above a port for its fitting and the tube's minimum straight length", None, "mm",
         "A tube cannot bend as soon as it leaves its fitting; a card above it would have to go.", PRACTICE),
    Rule("drop-too-short", "fits", "A drop is as long as a fitting and the tube's minimum straight length", None, "mm",
         "Between two fittings that nearly meet no tube can be put in.", PRACTICE),
    named=True,
)  # fmt: skip
def above(scene: Scene) -> Iterator[Finding]:
    """Ports on the top face against boards, devices, obstacles and the case's lid."""
    document, shapes = scene.document, scene.shapes
    top, straight = above_floor_mm(document, shapes.thickness), document.loop.fitting_straight_mm
    bodies: list[AreaShape] = [*shapes.boards.values(), *shapes.devices.values(), *shapes.obstacles.values()]
    low = [body for body in bodies if body.high > top + 1e-9 and body.low < top + max(straight, PLUG_MM) - 1e-9]
    for port in shapes.ports.values():
        if port.item.face != "top" or (is_plugged(port) and port.thread is None):
            continue
        need = height_over(port, straight)
        served = None if port.item.serves is None else shapes.device_ports.get(port.item.serves)
        if served is not None and 0 <= served.z - top < need - 1e-9:
            yield Finding(
                rule="drop-too-short",
                level="warning",
                items=(port.item.id, served.device),
                value=served.z - top,
                limit=need,
                unit="mm",
                at=port.at,
                message=f"{mm(served.z - top)} from {port.item.id} up to {served.ref}; fitting and tube need "
                f"{mm(need)}.",
                remedy="Lower the plate, move the port aside, or join the two with a coupling instead of a tube.",
                fix=_lowered(scene, need - (served.z - top)),
                cause=Cause(
                    "drop",
                    f"{{count}} drops are shorter than fitting and tube need, {mm(need)}.",
                    "Lower the plate, move the ports aside, or take couplings instead of tubes.",
                ),
            )
        for body in low:
            room = need
            if served is not None and body.id in chain(scene, served.device):
                # The device that the tube goes to may stand over the fitting, but not in it: a fitting is about as
                # high as it is wide. What is entered from below is asked for its drop's length.
                room = min(need, port.item.fitting_diameter_mm)
                beside = body.id == served.device and served.z > max(body.low, top) + 1e-6
                if not beside or body.low >= top + room - 1e-9:
                    continue
            if body.low < top + room - 1e-9 and shapely.intersects(sound(body.polygon), port.fitting):
                yield _too_low(scene, port, body, top, room)
        ceiling = document.floor.clear_height_mm
        if ceiling is not None and ceiling - top < need - 1e-9:
            yield _under_the_ceiling(scene, port, ceiling - top, need)


def _under_the_ceiling(scene: Scene, port: PortShape, room: float, need: float) -> Finding:
    """What closes the case is too near over a port: ``room`` mm, where ``need`` are asked."""
    return Finding(
        rule="height-above",
        level="error",
        items=(port.item.id,),
        value=room,
        limit=need,
        unit="mm",
        at=port.at,
        message=f"Above {port.item.id} the case closes after {mm(max(room, 0.0))}; {_needs(port)} {mm(need)}.",
        remedy="Put the port in the plate's edge, lower the plate, or use an angled fitting.",
        fix=_lowered(scene, need - room),
        cause=Cause(
            f"ceiling {need}",
            f"The case closes {mm(max(room, 0.0))} above the plate; {{count}} "
            f"{'plugs' if is_plugged(port) else 'fittings with their tubes'} need {mm(need)}.",
            f"Lower the plate by {mm(need - room)}, or use angled fittings.",
        ),
    )


def _needs(port: PortShape) -> str:
    return "the plug needs" if is_plugged(port) else "fitting and tube need"


def _too_low(scene: Scene, port: PortShape, body: AreaShape, top: float, need: float) -> Finding:
    value = max(body.low - top, 0.0)
    return Finding(
        rule="height-above",
        level="error",
        items=(port.item.id, body.id),
        value=value,
        limit=need,
        unit="mm",
        at=port.at,
        message=f"Above {port.item.id} stands the {body.kind} {body.id}, {mm(value)} over the plate; "
        f"{_needs(port)} {mm(need)}.",
        remedy="Move the port out from under it, put it in the plate's edge, or use an angled fitting.",
        **ways(
            _lowered(scene, need - value) if body.low >= top else None,
            *raised(scene, body.id, top + need - body.low),
        ),
    )


def _lowered(scene: Scene, by: float) -> Fix | None:
    """The plate lowered by so much, and by what its sheets may be thicker, where it stands that high, mm."""
    best = math.floor((scene.document.plate.z_mm - by - scene.thicker_mm) * 1000 + 1e-6) / 1000
    return Fix(f"Lower the plate to {mm(best)}", (Change("/plate/z_mm", best),)) if best >= 0 else None


@rules(
    Rule("hangs-below", "fits", "What hangs below the plate clears the floor and what stands on it", 0.5, "mm",
         "Screw heads and fittings below the plate touch the floor and lift the plate off its standoffs.", PRACTICE),
    named=True,
)  # fmt: skip
def below(scene: Scene) -> Iterator[Finding]:
    """Bottom ports and screw heads below the plate against the floor, its openings and its obstacles."""
    document, shapes, limit = scene.document, scene.shapes, scene.limit("hangs-below")
    z = document.plate.z_mm
    straight = document.loop.fitting_straight_mm
    rows: list[tuple[str, str, tuple[float, float], shapely.Geometry, float]] = [
        (port.item.id, "plug" if is_plugged(port) else "fitting", port.at, port.fitting, height_over(port, straight))
        for port in shapes.ports.values()
        if port.item.face == "bottom" and not (is_plugged(port) and port.thread is None)
    ]
    for head in bodies_of(scene).heads:
        if head.high <= z + 1e-9:
            hole = shapes.holes[head.id].item
            rows.append((head.id, "screw head", (hole.x_mm, hole.y_mm), head.area, head.high - head.low))
    keys = [((row[3], document.floor, document.plate), (row[0], row[1], row[4], z, limit)) for row in rows]
    yield from each(_hung, keys, lambda n: _hanging(scene, *rows[n], z, limit))


#: By the outline of what hangs, the floor and the plate.
_hung: Found = Remembered()


def _hanging(
    scene: Scene,
    item: str,
    what: str,
    at: tuple[float, float],
    outline: shapely.Geometry,
    need: float,
    z: float,
    limit: float,
) -> Iterator[Finding]:
    through = any(shapely.covers(sound(opening.polygon), outline) for opening in scene.shapes.openings.values())
    room, under = (float("inf"), "") if through else (z, "the floor")
    for obstacle in bodies_of(scene).obstacles:
        if obstacle.high < z and z - obstacle.high < room and shapely.intersects(obstacle.area, outline):
            room, under = z - obstacle.high, obstacle.id
    if room - need >= limit - 1e-9:
        return
    raised = round(z + need + limit - room + 0.0005, 3)
    yield Finding(
        rule="hangs-below",
        level="error",
        items=(item,) if under in ("", "the floor") else (item, under),
        value=room - need,
        limit=limit,
        unit="mm",
        at=at,
        message=f"The {what} of {item} hangs {mm(need)} below the plate, which stands {mm(room)} above {under}.",
        remedy=f"Raise the plate to {mm(raised)}, cut an opening under it, or sink the head.",
        fix=Fix(f"Raise the plate to {mm(raised)}", (Change("/plate/z_mm", raised),)),
        cause=Cause(
            f"{what} {need} {under}",
            f"{{count}} {what}s hang {mm(need)} below the plate, which stands {mm(room)} above {under}.",
            f"Raise the plate by {mm(raised - z)}, or sink the heads.",
        ),
    )
