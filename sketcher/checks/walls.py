"""Does it hold: walls between any two items that are cut into the plate."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely

from sketcher.checks import moving_apart
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene, at_least
from sketcher.document.remembered import Remembered
from sketcher.findings import ALIKE, PRACTICE, Cause, Finding, Fix, Level, Point, Rule, mm, pair, ways

#: Every part belongs to one family; a wall's rule is named by the two families it stands between.
FAMILY = {
    "channel": "channel",
    "thread": "port",
    "bore": "port",
    "cutout": "cutout",
    "pocket": "pocket",
    "hole": "hole",
    "head": "hole",
}
WORDS = {"channel": "channel", "port": "port", "cutout": "cutout", "pocket": "pocket", "hole": "screw hole"}

LEAK = "A thin wall between coolant and open air cracks or is cut through, and the plate leaks."
SHORT = "Coolant that breaks through to another passage takes a short cut past a block."
WEAK = "A thin wall of acrylic breaks in the vice or in the case."


def _wall(pair_: str, limit: float, reason: str) -> Rule:
    one, other = (WORDS.get(name, name) for name in pair_.split("-"))
    return Rule(f"wall-{pair_}", "holds", f"Wall between {one} and {other}", limit, "mm", reason, PRACTICE)


_PAIRS = (
    _wall("channel-channel", 3.0, SHORT),
    _wall("channel-port", 3.0, SHORT),
    _wall("port-port", 3.0, SHORT),
    _wall("channel-cutout", 4.0, LEAK),
    _wall("channel-pocket", 3.0, LEAK),
    _wall("channel-hole", 4.0, LEAK),
    _wall("port-cutout", 4.0, LEAK),
    _wall("port-pocket", 3.0, LEAK),
    _wall("port-hole", 4.0, LEAK),
    _wall("cutout-cutout", 3.0, WEAK),
    _wall("cutout-pocket", 2.0, WEAK),
    _wall("cutout-hole", 3.0, WEAK),
    _wall("pocket-pocket", 2.0, WEAK),
    _wall("pocket-hole", 2.0, WEAK),
    _wall("hole-hole", 3.0, WEAK),
)
ORDER = ("channel", "port", "cutout", "pocket", "hole")
_CODES = {part: ORDER.index(family) for part, family in FAMILY.items()}
SHEET = Rule(
    "sheet-thickness", "holds", "Walls, floors and bores hold for every thickness that the sheet may have", None, "mm",
    "A sheet is rarely as thick as its name: cast 20 mm sheet is 17.6 to 22.4 mm.",
    "ISO 7823-1 (cast), ISO 7823-2 (extruded)",
)  # fmt: skip


def pair_name(one: str, other: str) -> str:
    """The rule for the wall between two families."""
    first, second = sorted((one, other), key=ORDER.index)
    return f"wall-{first}-{second}"


def level_of(families: set[str], value: float) -> Level:
    """A wall against coolant is an error; a dry web is one only when nothing is left of it."""
    return "error" if families & {"channel", "port"} or value <= 1e-6 else "warning"


def by_culprit(found: list[Finding], what: str = "the wall is less than") -> Iterator[Finding]:
    """One thing that is too near to three others of a rule, or more, is one cause: it is the one to move."""
    count = Counter((finding.rule, finding.level, item) for finding in found for item in finding.items)
    for finding in found:
        item = max(finding.items, key=lambda id_: count[finding.rule, finding.level, id_])
        if count[finding.rule, finding.level, item] < ALIKE:
            yield finding
            continue
        said = f"{item} is too near to {{count}} others: {what} {mm(finding.limit or 0.0)}."
        yield replace(finding, cause=Cause(item, said, f"Move {item}, or make it narrower."))


@rules(*_PAIRS, named=True, after=by_culprit)
def between_items(scene: Scene) -> Iterator[Finding]:
    """Walls between two items, the thinnest place of each pair."""
    near, prisms = scene.neighbours, scene.prisms
    pairs = [
        (int(near.first[k]), int(near.second[k]), (value, float(near.plan[k]), float(near.thin[k])))
        for k, value in _thinnest(scene, near.apart)
    ]
    if scene.fixes:
        found = [_finding(scene, i, j, walls) for i, j, walls in pairs]
    else:
        rows = [((prisms[i], prisms[j]), (walls, _limit(scene, i, j))) for i, j, walls in pairs]
        found = _plain.all(rows, lambda new: [_finding(scene, *pairs[n]) for n in new])
    yield from found


#: Findings without fixes, by the two things and the walls between them.
_plain: Remembered[Finding] = Remembered()


def _limit(scene: Scene, i: int, j: int) -> float:
    return scene.limit(pair_name(FAMILY[scene.prisms[i].part], FAMILY[scene.prisms[j].part]))


def _thinnest(scene: Scene, apart: np.ndarray) -> list[tuple[int, float]]:
    """The pairs of items whose wall is too thin: for each the nearest pair of prisms, and the wall."""
    near, prisms = scene.neighbours, scene.prisms
    codes = np.array([_CODES[prism.part] for prism in prisms], dtype=np.intp)
    table = np.array([[at_least(scene.limit(pair_name(a, b))) for b in ORDER] for a in ORDER])
    thinnest: dict[tuple[str, str], int] = {}
    for k in np.flatnonzero(apart < table[codes[near.first], codes[near.second]] - 1e-6).tolist():
        a, b = prisms[near.first[k]].id, prisms[near.second[k]].id
        key = (a, b) if a < b else (b, a)
        if key not in thinnest or apart[k] < apart[thinnest[key]]:
            thinnest[key] = k
    return [
        (k, float(apart[k]))
        for (a, b), k in thinnest.items()
        if frozenset((a, b)) not in scene.doubles and not scene.joined(a, b)
    ]


def _finding(scene: Scene, i: int, j: int, walls: tuple[float, float, float]) -> Finding:
    """``walls``: in space, in plan, and in space on the thinnest sheets, mm."""
    value, plan, thin = walls
    a, b = scene.prisms[i], scene.prisms[j]
    if (a.id, b.id) != pair(a.id, b.id):
        i, j, a, b = j, i, b, a
    families = FAMILY[a.part], FAMILY[b.part]
    rule = pair_name(*families)
    limit = scene.limit(rule)
    line = wall_line(scene, i, j)
    names = f"{WORDS[families[0]]} {a.id}", f"{WORDS[families[1]]} {b.id}"
    height = math.sqrt(max(value**2 - plan**2, 0.0)) if plan < value else 0.0
    sideways = math.sqrt(max(limit**2 - height**2, 0.0)) - plan
    overlap = value <= 1e-6
    if overlap:
        remedy = f"Separate them by {mm(limit)}."
    elif height > 1e-6:
        remedy = f"Make one of them {mm(limit - value)} less deep, or move them {mm(sideways)} apart"
        remedy += "." if plan > 1e-6 else " beyond where they overlap."
    else:
        remedy = f"Move one of them {mm(limit - value)} away, or make one narrower."
    return Finding(
        rule=rule,
        level=level_of(set(families), value),
        items=(a.id, b.id),
        value=value,
        limit=limit,
        unit="mm",
        at=middle(line),
        line=line,
        message=f"The {names[0]} and the {names[1]} overlap."
        if overlap
        else f"The wall between {names[0]} and {names[1]} is {mm(value)}; {mm(limit)} is the minimum.",
        remedy=remedy,
        **(
            ways(*_ways(scene, (i, j), limit - min(value, thin), (sideways + plan, limit), height))
            if scene.fixes
            else {}
        ),
    )


#: What is moved rather than the other: dry things before ports, ports before channels.
_RATHER = {"hole": 0, "cutout": 1, "pocket": 1, "port": 2, "channel": 3}


def _ways(
    scene: Scene, pair_: tuple[int, int], missing: float, apart: tuple[float, float], height: float
) -> Iterator[Fix | None]:
    """Ways to make a wall thicker: one of the two moved in plan, made less deep when they lie over each other, or a
    channel made narrower. ``apart``: what is wanted in plan, as drawn and whatever the sheet's thickness, mm."""
    i, j = pair_
    prisms = scene.prisms[i], scene.prisms[j]
    cores = [(scene.cores[k], float(scene.radii[k])) for k in pair_]
    spots = shortest(scene.cores[i], scene.cores[j])
    depths = [moving_apart.shallower(scene, prism.id, missing) for prism in prisms]
    if height > 1e-6:
        yield from depths
    order = sorted((0, 1), key=lambda k: _RATHER[FAMILY[prisms[k].part]])
    for wanted in dict.fromkeys((*apart, *_clear_of_fittings(scene, pair_))):
        by = moving_apart.apart(cores[0], cores[1], wanted)
        for k in order if by is not None else ():
            assert by is not None
            way = by if k == 1 else (-by[0], -by[1])
            yield moving_apart.moved(scene, prisms[k].id, way, spots[k])
    for k in order:
        if prisms[k].part == "channel":
            yield moving_apart.narrower(scene, prisms[k].id, 2 * missing + 0.01)


def _clear_of_fittings(scene: Scene, pair_: tuple[int, int]) -> Iterator[float]:
    """What is wanted in plan beside a port's thread or bore to lie clear of the ring under its fitting too, mm."""
    for k, other in (pair_, pair_[::-1]):
        port = scene.shapes.ports.get(scene.prisms[k].id)
        if port is None or port.heading is not None or port.thread is None:
            continue
        if FAMILY[scene.prisms[other].part] in ("channel", "port"):
            continue
        room = scene.limit("fitting-face")
        if scene.prisms[other].part == "pocket":
            room = max(room, scene.limit("pocket-wet"))
        yield port.item.fitting_diameter_mm / 2 - float(scene.radii[k]) + room


def thin_walls(scene: Scene) -> Iterator[tuple[tuple[str, str], float, float, Point]]:
    """Walls that hold as drawn but not on the thinnest sheets: items, wall then (mm), limit, place."""
    near = scene.neighbours
    for k, value in _thinnest(scene, np.where(near.thin < near.apart - 1e-9, near.thin, np.inf)):
        i, j = int(near.first[k]), int(near.second[k])
        a, b = scene.prisms[i], scene.prisms[j]
        limit = scene.limit(pair_name(FAMILY[a.part], FAMILY[b.part]))
        if near.apart[k] >= limit - 1e-6:
            yield pair(a.id, b.id), value, limit, middle(wall_line(scene, i, j))


def wall_line(scene: Scene, i: int, j: int) -> tuple[Point, Point]:
    """The two ends of the wall between two prisms in plan; a point in both where they overlap.

    Between circles and straight channels it is exact. The chords of an arc meet at corners, and the nearest of these
    may lie to one side of where the arcs are nearest: 0.2 mm with a hole of 6 mm.
    """
    (one, near), (other, far) = _round_core(scene, i), _round_core(scene, j)
    start, end = shortest(one, other)
    apart = math.dist(start, end)
    if apart <= near + far:
        return shortest(scene.polygons[i], scene.polygons[j])
    ux, uy = (end[0] - start[0]) / apart, (end[1] - start[1]) / apart
    return (start[0] + near * ux, start[1] + near * uy), (end[0] - far * ux, end[1] - far * uy)


def _round_core(scene: Scene, k: int) -> tuple[shapely.Geometry, float]:
    """What a prism grows from, and by how much, mm; a round cutout or pocket grows from its centre."""
    prism = scene.prisms[k]
    if prism.part in ("cutout", "pocket"):
        area = (scene.shapes.cutouts if prism.part == "cutout" else scene.shapes.pockets).get(prism.id)
        arcs = area.contour.path.segments if area is not None and area.contour is not None else ()
        if arcs and not any(arc.straight or math.dist(arc.centre, arcs[0].centre) > 1e-9 for arc in arcs):
            return shapely.Point(arcs[0].centre), arcs[0].radius
    return scene.cores[k], float(scene.radii[k])


def shortest(one: shapely.Geometry, other: shapely.Geometry) -> tuple[Point, Point]:
    """The two ends of the shortest line between two areas; a point in both when they meet."""
    common = shapely.intersection(one, other) if shapely.intersects(one, other) else None
    if common is not None and not common.is_empty:
        place = shapely.point_on_surface(common)
        return ((place.x, place.y), (place.x, place.y))
    # What only touches may have nothing in common by its numbers: the shortest line is a point then.
    start, end = shapely.shortest_line(one, other).coords
    return ((start[0], start[1]), (end[0], end[1]))


def middle(line: tuple[Point, Point]) -> Point:
    """The middle of a line."""
    return ((line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2)
