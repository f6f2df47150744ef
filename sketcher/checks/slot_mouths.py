"""Does it fit, does it hold: cable slots are open where they are meant to be, and nowhere else.

The walls between a slot and what it opens into are not asked about as others are: the two meet. Here the way through is
looked at, and the walls beside the mouth.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import combinations

import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.checks.channel_runs import BEYOND
from sketcher.checks.plate_edges import without_mouth
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene, at_least
from sketcher.checks.walls import WEAK, middle
from sketcher.document.plate import CableSlot, Pocket
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Change, Finding, Fix, Point, Rule, mm
from sketcher.geometry.cable_slots import ground_of

#: Polygons keep to true arcs within this, mm: a cable that fits as drawn must not read as stuck.
_HAIR_MM = 0.02
#: What is left beside a mouth: how wide it is, mm, and where it is narrowest.
Web = tuple[float, tuple[Point, Point]]


@rules(
    Rule("cable-open", "fits", "A cable passes through its slot from one end to the other", None, "",
         "A slot that ends in a wall, or is pinched, leads no cable out.", PRACTICE),
    Rule("cable-depth", "fits", "A cable lies within its slot", 0.0, "mm",
         "A cable that stands out is pinched by what lies on the plate.", PRACTICE),
    Rule("cable-wall", "holds", "Wall beside the mouth of a cable slot", 2.0, "mm", WEAK, PRACTICE),
    named=True,
)  # fmt: skip
def slot_mouths(scene: Scene) -> Iterator[Finding]:
    """Every cable slot against what it opens into, and those that open into the same place against each other."""
    slots = [pocket for pocket in scene.document.pockets if pocket.cable is not None]
    for pocket in slots:
        assert pocket.cable is not None
        ends = [end for end in (pocket.cable.start, pocket.cable.end) if end is not None]
        if any(ground_of(scene.shapes, end) is None for end in ends):
            continue  # of a plate that is looked at in part
        yield from _open(scene, pocket, pocket.cable)
        yield from _deep(scene, pocket, pocket.cable)
        yield from _beside_its_mouths(scene, pocket, pocket.cable)
    for one, other in combinations(slots, 2):
        if frozenset((one.id, other.id)) in scene.slots_meet:
            yield from _between(scene, one, other)


def _open(scene: Scene, pocket: Pocket, cable: CableSlot) -> Iterator[Finding]:
    if _passes(scene, pocket, cable):
        return
    at = shapely.point_on_surface(_ground(scene, pocket.id))
    to = cable.end or "the plate's edge"
    yield Finding(
        rule="cable-open",
        level="error",
        items=tuple(name for name in (pocket.id, cable.start, cable.end) if name is not None),
        at=(at.x, at.y),
        message=f"A cable of {mm(cable.cable_mm)} does not pass from {cable.start} through {pocket.id} to {to}.",
        remedy="Keep the slot in step, or draw it as wide as the cable from one end into the other, on the same face.",
    )


def _passes(scene: Scene, pocket: Pocket, cable: CableSlot) -> bool:
    """Whether a disc as large as the cable can go from one end to the other."""
    start = next((p for p in scene.document.pockets if p.id == cable.start), None)
    if start is None or start.face != pocket.face:
        return False
    if cable.end in scene.shapes.openings and pocket.face != "bottom":
        return False
    radius = max(cable.cable_mm / 2 - _HAIR_MM, 1e-3)
    first = _ground(scene, cable.start)
    if cable.end is None:
        last: BaseGeometry = shapely.difference(shapely.buffer(scene.plate, 3 * cable.cable_mm), scene.plate)
    else:
        last = _ground(scene, cable.end)
    whole = shapely.union_all([first, _ground(scene, pocket.id), last])
    ends = [shapely.buffer(area, -radius) for area in (first, last)]
    return any(
        all(shapely.intersects(room, end) for end in ends)
        for room in shapely.get_parts(shapely.buffer(whole, -radius)).tolist()
    )


def _deep(scene: Scene, pocket: Pocket, cable: CableSlot) -> Iterator[Finding]:
    value = pocket.depth_mm - cable.cable_mm
    limit = scene.limit("cable-depth")
    if value >= limit - 1e-6:
        return
    at = shapely.point_on_surface(_ground(scene, pocket.id))
    index = scene.document.pockets.index(pocket)
    deeper = Change(f"/pockets/{index}/depth_mm", round(cable.cable_mm + limit, 3))
    yield Finding(
        rule="cable-depth",
        level="warning",
        items=(pocket.id,),
        value=value,
        limit=limit,
        unit="mm",
        at=(at.x, at.y),
        message=f"The cable in {pocket.id} stands out by {mm(-value)}."
        if value < 0
        else f"The cable lies {mm(value)} below the mouth of {pocket.id}; {mm(limit)} is the minimum.",
        remedy=f"Mill it {mm(limit - value)} deeper.",
        fix=None if pocket.locked else Fix(f"Make {pocket.id} {mm(cable.cable_mm + limit)} deep", (deeper,)),
    )


def _beside_its_mouths(scene: Scene, pocket: Pocket, cable: CableSlot) -> Iterator[Finding]:
    limit = at_least(scene.limit("cable-wall"))
    cut = _own(scene, pocket)
    for end in (cable.start, cable.end):
        if end in scene.shapes.openings:
            continue  # under the plate: there is no web between
        ground = shapely.make_valid(scene.shapes.plate_polygon) if end is None else _ground(scene, end)
        parts = (pocket, *(p for p in (scene.shapes.pockets.get(end or ""), scene.shapes.cutouts.get(end or "")) if p))
        make = partial(_web, _ground(scene, pocket.id), cut, ground, limit)
        web = _webs.of((*parts, scene.shapes.plate_polygon), (end, limit, cut.wkb), make)
        if web is not None and web[0] < limit - 1e-6:
            items = (pocket.id,) if end is None else (pocket.id, end)
            yield _thin(items, web, limit, f"{pocket.id} and {end or 'the plate’s edge'}")


_webs: Remembered[Web | None] = Remembered()


def _web(slot: BaseGeometry, cut: BaseGeometry, ground: BaseGeometry, limit: float) -> Web | None:
    """The web between a slot and what it opens into, apart from the mouth and the edge beside it."""
    edge = shapely.boundary(ground)
    across = shapely.get_parts(shapely.line_merge(shapely.intersection(slot, edge)))
    if cut.is_empty or not len(across):
        return None
    mouth = max(across.tolist(), key=lambda line: line.length)
    place = mouth.interpolate(mouth.length / 2)
    rest = without_mouth(edge, place, max(BEYOND * (mouth.length / 2 + limit), mouth.length / 2 + 1e-3))
    if shapely.is_empty(rest):
        return None
    start, end = shapely.shortest_line(cut, rest).coords
    return float(shapely.distance(cut, rest)), ((start[0], start[1]), (end[0], end[1]))


def _between(scene: Scene, one: Pocket, other: Pocket) -> Iterator[Finding]:
    limit = at_least(scene.limit("cable-wall"))
    if one.face != other.face:
        return
    first, second = _own(scene, one), _own(scene, other)
    if first.is_empty or second.is_empty or (value := float(shapely.distance(first, second))) >= limit - 1e-6:
        return
    start, end = shapely.shortest_line(first, second).coords
    line = ((start[0], start[1]), (end[0], end[1]))
    yield _thin((one.id, other.id), (value, line), limit, f"{one.id} and {other.id}")


def _thin(items: tuple[str, ...], web: Web, limit: float, names: str) -> Finding:
    value, line = web
    return Finding(
        rule="cable-wall",
        level="error" if value <= 1e-6 else "warning",
        items=items,
        value=value,
        limit=limit,
        unit="mm",
        at=middle(line),
        line=line,
        message=f"The wall between {names} beside the slot's mouth is {mm(value)}; {mm(limit)} is the minimum."
        if value > 1e-6
        else f"{names} meet in more places than the slot's mouth.",
        remedy="Lead the slot out square to the edge there, by corners if it has to.",
    )


def _ground(scene: Scene, id_: str) -> BaseGeometry:
    ground = ground_of(scene.shapes, id_)
    assert ground is not None
    return ground


def _own(scene: Scene, pocket: Pocket) -> BaseGeometry:
    """What a slot takes from the material itself: less what its ends have taken, and what lies beyond the edge."""
    assert pocket.cable is not None
    own = _ground(scene, pocket.id)
    for end in (pocket.cable.start, pocket.cable.end):
        ground = ground_of(scene.shapes, end) if end is not None and end not in scene.shapes.openings else None
        if ground is not None:
            own = shapely.difference(own, ground)
    return shapely.intersection(own, scene.plate) if pocket.cable.end is None else own
