"""Does it fit on thicker sheets: what is over the plate, when body and lid are as thick as they may be.

The plate stands on its underside, so what is on its top face comes up by what both sheets are thicker. Each rule on
heights is asked again with the plate raised by that; edge ports are raised and lowered with the joint that they are
given from. What stands on the plate, and what that carries, comes up with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import shapely

from sketcher.checks.carried import to_what_it_carries
from sketcher.checks.fits import the_floor
from sketcher.checks.fittings import beside_fittings
from sketcher.checks.hold_height import above
from sketcher.checks.port_bores import over_the_sheet
from sketcher.checks.running import rules
from sketcher.checks.scene import ASIDE, Scene, heights_and_parts_of
from sketcher.checks.space import between_bodies, bodies_of, chain, in_the_plate, tubes
from sketcher.checks.tube_rules import clearances
from sketcher.checks.within_case import in_the_case
from sketcher.document import Document
from sketcher.document.plate import Plate
from sketcher.document.remembered import Remembered
from sketcher.findings import Finding
from sketcher.geometry.levels import tolerances_mm

Look = Callable[[Scene], Iterable[Finding]]
#: What is asked of the top face, and of the fittings at the edge.
_OVER: tuple[Look, ...] = (above, in_the_case, the_floor, between_bodies, in_the_plate, beside_fittings,
                           to_what_it_carries, tubes, clearances)  # fmt: skip
_BESIDE: tuple[Look, ...] = (beside_fittings, to_what_it_carries)
_RULES = frozenset(("height-above", "drop-too-short", "above-ceiling", "plate-over-obstacle", "plate-body",
                    "head-blocked", "fitting-blocked", "tube-blocked", "tube-clearance"))  # fmt: skip
#: What stands on the plate or in a pocket of it is no farther from it than this, mm.
_ON_IT_MM = 0.05
_NOT_OF_HEIGHTS = ASIDE | {"channels", "branches", "keep_outs", "seal", "shop"}
_raised: Remembered[Plate] = Remembered(most=32)
_known: Remembered[tuple[Finding, ...]] = Remembered(most=8)


@rules(slow=True)  # its rule is registered with the bores
def over_thick_sheets(scene: Scene) -> Iterable[Finding]:
    """What holds in height as drawn, but not over or beside the thickest sheets."""
    if not _anything_over(scene):
        return ()
    return _known.of(*heights_and_parts_of(scene.document, _NOT_OF_HEIGHTS), lambda: tuple(_found(scene)))


def _anything_over(scene: Scene) -> bool:
    shapes, (_, top) = scene.shapes, bodies_of(scene).plate_heights
    if scene.document.floor.clear_height_mm is not None or scene.document.loop.tubes:
        return True
    return any(body.high > top for group in (shapes.boards, shapes.devices, shapes.obstacles) for body in
               group.values()) or any(port.z > top for port in shapes.device_ports.values())  # fmt: skip


def _found(scene: Scene) -> Iterator[Finding]:
    body, lid = tolerances_mm(scene.document)
    on_it = standing_on_it(scene)
    lying = {id_ for id_, port in scene.shapes.ports.items() if port.heading is not None}
    joint = lid if scene.document.plate.lid_face == "bottom" else body
    worst: dict[tuple[str, tuple[str, ...]], Finding] = {}
    for finding in _new(scene, body + lid, _OVER):
        if lying.isdisjoint(finding.items) and on_it.isdisjoint(finding.items):
            worst.setdefault((finding.rule, finding.items), finding)
    for rise in (joint, -joint) if lying else ():
        for finding in _new(scene, rise, _BESIDE):
            if not lying.isdisjoint(finding.items) and on_it.isdisjoint(finding.items):
                key = (finding.rule, finding.items)
                if key not in worst or _value(finding) < _value(worst[key]):
                    worst[key] = finding
    for finding in worst.values():
        yield over_the_sheet(scene, finding.items, (_value(finding), finding.limit or 0.0), finding.at, _words(finding))
    yield from _under_the_ceiling(scene, on_it, body + lid)


def _value(finding: Finding) -> float:
    return finding.value if finding.value is not None else 0.0


def _new(scene: Scene, rise: float, looks: Iterable[Look]) -> Iterator[Finding]:
    """What is found with the plate raised by so much (mm), and not as drawn: nor of what is in the way as drawn."""
    raised = Scene(replace(scene.shapes, document=_with_plate_raised(scene.document, rise)), scene.limits)
    for look in looks:
        found = [finding for finding in look(raised) if finding.rule in _RULES]
        if found:
            before = scene.once(_in_the_way)
            yield from (finding for finding in found if before.isdisjoint(_whom(scene, finding)))


def _in_the_way(scene: Scene) -> set[str]:
    """What these rules are about as drawn."""
    return {name for look in _OVER for f in look(scene) if f.rule in _RULES for name in _whom(scene, f)}


def _whom(scene: Scene, finding: Finding) -> set[str]:
    """What a finding is about beside plate, ports and screws: it has to move, and is not told a second time."""
    shapes = scene.shapes
    return {id_ for id_ in finding.items if id_ not in shapes.ports and id_ not in shapes.holes} or {"the ceiling"}


def _with_plate_raised(document: Document, rise: float) -> Document:
    plate = _raised.of(
        (document.plate,), rise, lambda: document.plate.model_copy(update={"z_mm": document.plate.z_mm + rise})
    )
    return document.model_copy(update={"plate": plate})


def standing_on_it(scene: Scene) -> set[str]:
    """Boards and devices that stand on the plate, and what they carry."""
    bodies = bodies_of(scene)
    under, top = bodies.plate_heights
    found = set()
    for body in bodies.hardware:
        # A foot is over the plate's top, or over the floor of a pocket; measured is only what may have one.
        if under < body.low <= top + _ON_IT_MM and shapely.intersects(bodies.plate.area, body.area):
            between = bodies.solid.gap(body)
            if between.away[2] > 0.9 and abs(between.value) <= _ON_IT_MM:
                found.add(body.id)
    return {body.id for body in bodies.hardware if not found.isdisjoint(chain(scene, body.id))}


def _under_the_ceiling(scene: Scene, on_it: set[str], rise: float) -> Iterator[Finding]:
    """What comes up with the plate, against what closes the case."""
    ceiling, limit = scene.document.floor.clear_height_mm, scene.limit("above-ceiling")
    if ceiling is None:
        return
    for body in bodies_of(scene).hardware:
        room = ceiling - body.high
        if body.id in on_it and room >= limit - 1e-6 and room - rise < limit - 1e-6:
            at = shapely.point_on_surface(body.area)
            yield over_the_sheet(scene, (body.id,), (room - rise, limit), (at.x, at.y), f"the room over {body.id}")


def _words(finding: Finding) -> str:
    names = [*finding.items, "the plate"] if finding.items else ["the plate", "it"]
    if finding.rule == "drop-too-short":
        return f"the drop from {names[0]} to {names[1]}"
    if finding.rule == "above-ceiling" or (len(finding.items) < 2 and finding.rule == "height-above"):
        return f"the room over {names[0]}"
    return f"the room between {names[0]} and {names[1]}"
