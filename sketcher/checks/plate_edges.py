"""Does it hold, does it fit: what is cut into the plate against the plate's own edge."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.ops import substring

from sketcher.checks import moving_apart
from sketcher.checks.channel_runs import BEYOND
from sketcher.checks.faces import FLAT_MM, MOUTH_MM, squared
from sketcher.checks.running import rules
from sketcher.checks.scene import TOUCH_MM, Scene, at_least
from sketcher.checks.walls import FAMILY, LEAK, WEAK, WORDS, level_of, middle
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Cause, Finding, Fix, Point, Rule, mm, ways
from sketcher.geometry.ports import PortShape, off_square_deg, square_to_the_edge
from sketcher.geometry.prisms import Barrel, Prism


def _edge(family: str, title: str, limit: float, reason: str) -> Rule:
    return Rule(f"wall-{family}-edge", "holds", title, limit, "mm", reason, PRACTICE)


EDGES = {
    "channel": _edge("channel", "Wall between channel and plate edge", 4.0, LEAK),
    "port": _edge("port", "Wall between a port's bore and the plate edge", 4.0, LEAK),
    "cutout": _edge("cutout", "Wall between cutout and plate edge", 3.0, WEAK),
    "pocket": _edge("pocket", "Wall between pocket and plate edge", 2.0, WEAK),
    "hole": _edge("hole", "Wall between screw hole and plate edge", 3.0, WEAK),
}


@rules(
    Rule("outside-plate", "fits", "Every item lies within the plate", 0.0, "mm",
         "What is cut at the edge is no hole and no channel.", PRACTICE),
    *EDGES.values(),
    named=True,
)  # fmt: skip
def to_the_edge(scene: Scene) -> Iterator[Finding]:
    """Walls between an item and the plate's edge; an item across the edge, by however little, is outside."""
    if not len(scene.polygons):
        return
    limits = {family: at_least(scene.limit(rule.name)) for family, rule in EDGES.items()}
    families = [FAMILY[part] for part in scene.parts]
    bounds = np.array([limits[family] for family in families])
    within = max(limits.values()) + 0.1
    wanted = [((polygon, scene.shapes.plate_polygon), within) for polygon in scene.polygons.tolist()]
    near = np.array(_near.all(wanted, lambda new: _at_the_edge(scene, new, within)), dtype=bool)
    edge_ports = {id_: port for id_, port in scene.shapes.ports.items() if port.heading is not None}
    # An edge port's mouth is looked at below, that of a cable slot in ``slot_mouths``.
    open_ = {*edge_ports, *(p.id for p in scene.document.pockets if p.cable is not None and p.cable.end is None)}
    seen: dict[str, Finding] = {}
    for i in np.flatnonzero(near):
        prism = scene.prisms[i]
        if prism.id in open_:
            continue
        value = _clear(scene, int(i))
        if value >= bounds[i] - 1e-6 or (prism.id in seen and (seen[prism.id].value or 0.0) <= value):
            continue
        seen[prism.id] = _finding(scene, int(i), families[i], value, float(bounds[i]))
    at_ports = {port.item.id: list(_edge_port(scene, port, limits["port"])) for port in edge_ports.values()}
    astray = {id_ for id_, found in at_ports.items() if any(f.rule == "outside-plate" for f in found)}
    for id_, finding in seen.items():
        channel = scene.shapes.channels.get(id_)
        # A channel that follows its port out of the plate comes back with it.
        if finding.rule != "outside-plate" or channel is None or astray.isdisjoint((channel.item.start,
                                                                                   channel.item.end)):  # fmt: skip
            yield finding
    for found in at_ports.values():
        yield from found


#: Whether a prism is near the plate's edge, or outside.
_near: Remembered[bool] = Remembered()


def _at_the_edge(scene: Scene, rows: list[int], within: float) -> list[bool]:
    polygons = scene.polygons[rows]
    shapely.prepare(scene.edge)
    shapely.prepare(scene.plate)
    near = shapely.dwithin(scene.edge, polygons, within) | ~shapely.intersects(scene.plate, polygons)
    found: list[bool] = near.tolist()
    return found


def _clear(scene: Scene, i: int) -> float:
    """The wall between a prism and the edge, negative by how far it reaches beyond."""
    core, radius = scene.cores[i], float(scene.radii[i])
    if shapely.covers(scene.plate, core):
        value = float(shapely.distance(scene.edge, core)) - radius
        return 0.0 if abs(value) < TOUCH_MM else value
    corners = shapely.points(shapely.get_coordinates(core))
    return -float(shapely.distance(scene.plate, corners).max()) - radius


def _finding(scene: Scene, i: int, family: str, value: float, limit: float) -> Finding:
    prism, polygon = scene.prisms[i], scene.polygons[i]
    if value < 0:
        beyond = shapely.difference(polygon, scene.plate)
        place = shapely.point_on_surface(polygon if beyond.is_empty else beyond)
        wholly = not shapely.intersects(polygon, scene.plate)
        return Finding(
            rule="outside-plate",
            level="error",
            items=(prism.id,),
            value=value,
            limit=0.0,
            unit="mm",
            at=(place.x, place.y),
            message=f"{prism.id} lies {'outside' if wholly else 'over the edge of'} the plate.",
            remedy="Move it inside, or make the plate larger there.",
            **ways(*_inwards(scene, i, family, value)),
        )
    start, end = shapely.shortest_line(polygon, scene.edge).coords
    line: tuple[Point, Point] = ((start[0], start[1]), (end[0], end[1]))
    missing = limit - value
    return Finding(
        rule=EDGES[family].name,
        level=level_of({family}, value),
        items=(prism.id,),
        value=value,
        limit=limit,
        unit="mm",
        at=middle(line),
        line=line,
        message=f"The wall between {WORDS[family]} {prism.id} and the plate's edge is {mm(value)}; "
        f"{mm(limit)} is the minimum."
        if value > 0
        else f"The {WORDS[family]} {prism.id} touches the plate's edge.",
        remedy=f"Move it {mm(missing)} inwards, or make the plate larger there.",
        **ways(*_inwards(scene, i, family, value)),
    )


def _inwards(scene: Scene, i: int, family: str, value: float) -> Iterator[Fix | None]:
    """An item moved away from the edge until its wall is left, or a channel made narrower."""
    prism, core = scene.prisms[i], scene.cores[i]
    missing = at_least(scene.limit(EDGES[family].name)) - value + moving_apart.HAIR_MM
    start, end = shapely.shortest_line(core, scene.edge).coords
    if value <= 0 or shapely.intersects(core, scene.edge):  # by its middle: its edge is on the wrong side
        middle_ = shapely.point_on_surface(core) if shapely.covers(scene.plate, core) else shapely.centroid(core)
        start, end = shapely.shortest_line(middle_, scene.edge).coords
        if not shapely.contains(scene.plate, middle_):
            start, end = end, start
    dx, dy = start[0] - end[0], start[1] - end[1]
    size = (dx**2 + dy**2) ** 0.5
    if size > 1e-9:
        yield moving_apart.moved(scene, prism.id, (dx / size * missing, dy / size * missing), (start[0], start[1]))
    if prism.part == "channel" and value > 0:
        yield moving_apart.narrower(scene, prism.id, 2 * missing)


def _edge_port(scene: Scene, port: PortShape, limit: float) -> Iterator[Finding]:
    """An edge port opens through the edge at its mouth, and has its walls to the edge everywhere else."""
    inside = shapely.covers(scene.plate, shapely.Point(port.root))
    on_edge = shapely.dwithin(scene.edge, shapely.Point(port.at), MOUTH_MM)
    if not inside or not on_edge:
        at = port.at if not on_edge else port.root
        onto = None if on_edge else moving_apart.onto_the_edge(scene, port.item.id)
        yield Finding(
            rule="outside-plate",
            level="error",
            items=(port.item.id,),
            value=-float(shapely.distance(scene.edge, shapely.Point(at))),
            limit=0.0,
            unit="mm",
            at=at,
            message=f"The mouth of the edge port {port.item.id} is not on the plate's edge."
            if not on_edge
            else f"The bore of the edge port {port.item.id} ends outside the plate.",
            remedy="Move it onto the edge."
            if not on_edge
            else "Turn its heading into the plate, or drill it less deep.",
            fix=squared(scene, port) if on_edge else onto and onto[0],
            # Ports that are off by the same are so because the edge was moved.
            cause=None
            if onto is None
            else Cause(
                f"mouth {onto[1][0]:.2f} {onto[1][1]:.2f}",
                f"The mouths of {{count}} edge ports are {mm(math.hypot(*onto[1]))} off the plate's edge.",
                "Move them onto the edge, or the edge to them.",
            ),
        )
        return
    found: tuple[float, Prism, tuple[Point, Point]] | None = None
    for prism in (port.thread_prism, port.bore_prism):
        row = _known_beside.of(
            (scene.shapes.plate_polygon, port, prism),
            scene.limit("wall-port-edge"),
            lambda prism=prism: _beside(scene, port, prism),  # type: ignore[misc]
        )
        if row is not None and (found is None or row[0] < found[0]):
            found = (row[0], prism, row[1])
    if found is None or found[0] >= limit - 1e-6 or _only_slanted(scene, port, limit):
        return
    value, _, line = found
    yield Finding(
        rule="wall-port-edge",
        level="error",
        items=(port.item.id,),
        value=value,
        limit=limit,
        unit="mm",
        at=middle(line),
        line=line,
        message=f"The wall between the edge port {port.item.id} and the edge beside it is {mm(value)}; "
        f"{mm(limit)} is the minimum.",
        remedy=f"Move the port {mm(limit - value)} along the edge, away from the corner.",
        **ways(*moving_apart.along_the_edge(scene, port.item.id, limit - value + moving_apart.HAIR_MM)),
    )


def _only_slanted(scene: Scene, port: PortShape, limit: float) -> bool:
    """Whether a port that is drilled off square would have its wall if it were square: that it is not is said."""
    slant = off_square_deg(port, scene.shapes.plate_polygon)
    if port.thread is None or port.item.fitting_diameter_mm * math.sin(math.radians(slant)) <= FLAT_MM:
        return False
    (x, y), (nx, ny) = port.at, square_to_the_edge(port.at, scene.shapes.plate_polygon)
    reach, radius = math.dist(port.at, port.root), port.thread_diameter / 2
    axis = shapely.LineString([(x, y), (x + nx * reach, y + ny * reach)])
    rest = without_mouth(scene.edge, shapely.Point(port.at), BEYOND * (radius + limit))
    return bool(shapely.is_empty(rest)) or float(shapely.distance(axis, rest)) - radius >= limit


_known_beside: Remembered[tuple[float, tuple[Point, Point]] | None] = Remembered()


def _beside(scene: Scene, port: PortShape, prism: Prism) -> tuple[float, tuple[Point, Point]] | None:
    """The wall between a barrel and the edge, apart from the edge about the port's mouth."""
    around = BEYOND * (prism.solid.radius + scene.limit("wall-port-edge")) if isinstance(prism.solid, Barrel) else 0.0
    rest = without_mouth(scene.edge, shapely.Point(port.at), around)
    if shapely.is_empty(rest):
        return None
    cut = prism.polygon if prism.core is None else prism.core  # with the drill's point
    start, end = shapely.shortest_line(cut, rest).coords
    return float(shapely.distance(cut, rest)), ((start[0], start[1]), (end[0], end[1]))


def without_mouth(edge: shapely.Geometry, mouth: shapely.Point, around: float) -> shapely.Geometry:
    """The edge without what lies less than so many mm along it from the mouth."""
    rings = list(shapely.get_parts(edge))
    own = min(rings, key=lambda ring: ring.distance(mouth))
    kept = [ring for ring in rings if ring is not own]
    along = own.project(mouth)
    first, last = along + around, along - around + own.length
    if last > first:
        pieces = [(first, min(last, own.length)), (max(first - own.length, 0.0), last - own.length)]
        kept += [substring(own, low, high) for low, high in pieces if high - low > 1e-9]
    return shapely.union_all(kept)
