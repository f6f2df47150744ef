"""Does it hold: the ring under a fitting lies wholly on sound, flat plate."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely

from sketcher.checks import moving_apart
from sketcher.checks.running import rules
from sketcher.checks.scene import TOUCH_MM, Scene, at_least
from sketcher.checks.space import bodies_of, head_outside
from sketcher.findings import PRACTICE, Change, Finding, Fix, Point, Rule, mm, pair, ways
from sketcher.geometry.levels import body_heights
from sketcher.geometry.ports import PortShape, off_square_deg

#: An edge port's mouth is on the edge within this, mm.
MOUTH_MM = 0.1
#: An edge is flat within this over a fitting's width, mm.
FLAT_MM = 0.02
#: What lies above and below an edge port's ring.
FACES_BESIDE = "the joint", "the body's face"


def worst_of_each(found: list[Finding]) -> list[Finding]:
    """Of what is wrong at each ring the worst; of two alike the edge, then by name."""
    worst: dict[str, Finding] = {}
    for finding in sorted(found, key=lambda finding: (finding.value or 0.0, finding.items)):
        worst.setdefault(finding.items[0], finding)
    return list(worst.values())


def holes_before_the_edge(found: list[Finding]) -> list[Finding]:
    """Of what is wrong at each head's seat the worst; the plate's edge only where nothing else is."""
    worst: dict[str, Finding] = {}
    for finding in sorted(found, key=lambda finding: (len(finding.items) == 1, finding.value or 0.0, finding.items)):
        worst.setdefault(finding.items[0], finding)
    return [f if f.items == (items := pair(*f.items) if len(f.items) == 2 else f.items) else replace(f, items=items)
            for f in worst.values()]  # fmt: skip


@rules(
    Rule("fitting-face", "holds", "Flat, sound plate all round the ring under a fitting", 0.0, "mm",
         "A fitting seals on the plate's face: across a hole, an edge or a step its ring cannot.", PRACTICE),
    named=True,
    after=worst_of_each,
)  # fmt: skip
def rings(scene: Scene) -> Iterator[Finding]:
    """The ring under each fitting against holes, recesses and edges of the face that it lies on."""
    ports = [port for port in scene.shapes.ports.values() if port.thread is not None]
    flat = [port for port in ports if port.heading is None]
    limit = scene.limit("fitting-face")
    if flat:
        yield from _on_faces(scene, flat, limit)
    for port in ports:
        if port.heading is not None:
            yield from _on_edge(scene, port, limit)


@rules(
    Rule("head-face", "holds", "Flat, sound plate all round under a screw head", 0.0, "mm",
         "A head that stands half over a hole or an edge tilts, and presses on what is left of the rim.", PRACTICE),
    named=True,
    after=holes_before_the_edge,
)  # fmt: skip
def seats(scene: Scene) -> Iterator[Finding]:
    """The seat of each head that stands out of the plate against holes, recesses and edges of its face."""
    heads = [(scene.shapes.holes[body.id], body) for body in bodies_of(scene).heads]
    if not heads:
        return
    limit, (opens_top, opens_bottom) = scene.limit("head-face"), _open_on(scene)
    seats_ = np.array([hole.prism.core for hole, _ in heads], dtype=object)
    sizes = [head_outside(hole) for hole, _ in heads]
    radii = np.array([size[0] for size in sizes if size is not None])
    ids = np.array([prism.id for prism in scene.prisms], dtype=object)
    first, second = shapely.STRtree(scene.polygons).query(
        seats_, predicate="dwithin", distance=float(radii.max()) + limit
    )
    top = np.array([hole.item.face == "top" for hole, _ in heads], dtype=bool)[first]
    own = np.array([hole.item.id for hole, _ in heads], dtype=object)[first]
    keep = np.where(top, opens_top[second], opens_bottom[second]) & (ids[second] != own)
    first, second = first[keep], second[keep]
    gaps = shapely.distance(seats_[first], scene.cores[second]) - scene.radii[second] - radii[first]
    worst: dict[tuple[str, str], float] = {}
    for k in np.flatnonzero(gaps < limit - TOUCH_MM):
        key = heads[first[k]][0].item.id, str(ids[second[k]])
        worst[key] = min(float(gaps[k]), worst.get(key, np.inf))
    edge = shapely.distance(seats_, scene.edge) - radii
    wall = at_least(scene.limit("wall-hole-edge"))
    for (hole, _), radius, value in zip(heads, radii.tolist(), edge.tolist(), strict=True):
        # Where the hole itself is too near to the edge, or outside, that is said already.
        near = value + radius - hole.prism.radius < wall - 1e-6
        if value < limit - TOUCH_MM and not near:
            worst[hole.item.id, "the plate's edge"] = value
    for (id_, what), value in worst.items():
        at = scene.place(id_) or scene.middle_of(id_)
        yield Finding(
            rule="head-face",
            level="warning",
            items=(id_,) if " " in what else (id_, what),  # the head first: what is chosen is put in order
            value=value,
            limit=limit,
            unit="mm",
            at=at,
            message=f"The head of {id_} reaches {mm(-value)} over {what}."
            if value < 0
            else f"The head of {id_} is {mm(value)} from {what}; {mm(limit)} is the minimum.",
            remedy=f"Move one of them {mm(limit - value)} away, sink the head, or take a smaller screw.",
            **(ways(*_seat_ways(scene, id_, what, limit)) if scene.fixes else {}),
        )


def _seat_ways(scene: Scene, id_: str, what: str, limit: float) -> Iterator[Fix | None]:
    """The screw moved away from what its head reaches over, or that from it."""
    size = head_outside(scene.shapes.holes[id_])
    cut = [k for k, prism in enumerate(scene.prisms) if prism.id == what]
    if size is None or not cut:
        return
    k = max(cut, key=lambda row: float(scene.radii[row]))
    seat = (shapely.Point(scene.middle_of(id_)), size[0])
    away = moving_apart.apart(seat, (scene.cores[k], float(scene.radii[k])), limit)
    if away is not None:
        yield moving_apart.moved(scene, id_, (-away[0], -away[1]))
        yield moving_apart.moved(scene, what, away)


def _open_on(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Which prisms open on the top face, and which on the bottom one."""
    return scene.heights[:, 1] >= scene.shapes.thickness - 1e-6, scene.heights[:, 0] <= 1e-6


def _on_faces(scene: Scene, ports: list[PortShape], limit: float) -> Iterator[Finding]:
    worst: dict[tuple[str, str], tuple[float, Point]] = {}
    opens = dict(zip(("top", "bottom"), _open_on(scene), strict=True))
    ids = np.array([prism.id for prism in scene.prisms], dtype=object)
    centres = shapely.points([port.at for port in ports])
    radii = np.array([port.item.fitting_diameter_mm / 2 for port in ports])
    edge = shapely.distance(centres, scene.edge)
    inside = shapely.contains_xy(scene.plate, [port.at[0] for port in ports], [port.at[1] for port in ports])
    for port, value, within in zip(ports, np.where(inside, edge, -edge) - radii, inside, strict=True):
        if value < limit - TOUCH_MM and within:
            worst[port.item.id, "the plate's edge"] = (float(value), port.at)
    tree = shapely.STRtree(scene.polygons)
    first, second = tree.query(centres, predicate="dwithin", distance=float(radii.max()) + limit + 0.1)
    faces = np.array([port.item.face for port in ports], dtype=object)[first]
    on_face = np.where(faces == "top", opens["top"][second], opens["bottom"][second])
    other = ids[second] != np.array([port.item.id for port in ports], dtype=object)[first]
    first, second = first[on_face & other], second[on_face & other]
    gaps = shapely.distance(centres[first], scene.cores[second]) - scene.radii[second] - radii[first]
    for i, j, gap in zip(first, second, gaps, strict=True):
        port = ports[i]
        if scene.prisms[j].id in scene.shapes.channels or gap >= limit - TOUCH_MM:
            continue
        key = port.item.id, str(ids[j])
        worst[key] = min((float(gap), port.at), worst.get(key, (np.inf, port.at)))
    for (id_, what), (value, at) in worst.items():
        fixes = _ways(scene, id_, what, value, limit) if scene.fixes else ()
        yield _finding(id_, value, limit, at, what, *fixes)


def _ways(scene: Scene, id_: str, what: str, value: float, limit: float) -> Iterator[Fix | None]:
    """What is in the ring moved out of it, or the port away from it; from an edge inwards."""
    port, missing = scene.shapes.ports[id_], limit - value + moving_apart.HAIR_MM
    ring = (shapely.Point(port.at), port.item.fitting_diameter_mm / 2)
    cut = [k for k, prism in enumerate(scene.prisms) if prism.id == what]
    if not cut:
        start, end = shapely.shortest_line(scene.edge, ring[0]).coords
        size = math.dist(start, end)
        if size > 1e-9:
            by = ((end[0] - start[0]) / size * missing, (end[1] - start[1]) / size * missing)
            yield moving_apart.moved(scene, id_, by)
        return
    core, radius = max(((scene.cores[k], float(scene.radii[k])) for k in cut), key=lambda row: row[1])
    # A dry pocket is held farther from a fitting than its ring needs.
    for wanted in (limit, max(limit, scene.limit("pocket-wet"))):
        away = moving_apart.apart(ring, (core, radius), wanted)
        if away is not None:
            yield moving_apart.moved(scene, what, away)
            yield moving_apart.moved(scene, id_, (-away[0], -away[1]))


def _finding(
    id_: str, value: float, limit: float, at: Point, what: str, *fixes: Fix | None, how: str = "Move one of them"
) -> Finding:
    return Finding(
        rule="fitting-face",
        level="error",
        items=(id_,) if " " in what else (id_, what),
        value=value,
        limit=limit,
        unit="mm",
        at=at,
        message=f"The ring under the fitting of {id_} reaches {mm(-value)} over {what}."
        if value < 0
        else f"The ring under the fitting of {id_} is {mm(value)} from {what}; {mm(limit)} is the minimum.",
        remedy=f"{how} {mm(limit - value)} away, or use a slimmer fitting.",
        **ways(*fixes),
    )


def _on_edge(scene: Scene, port: PortShape, limit: float) -> Iterator[Finding]:
    """An edge port's ring lies on the body's edge: between its faces, on a straight part."""
    assert port.heading is not None
    low, high = body_heights(scene.document)
    half = port.item.fitting_diameter_mm / 2
    value = min(port.rise - half - low, high - port.rise - half)
    joint, face = FACES_BESIDE
    what = joint if (port.rise - low < high - port.rise) is (scene.document.plate.lid_face == "bottom") else face
    (x, y), (hx, hy) = port.at, port.heading
    if not shapely.dwithin(scene.edge, shapely.Point(port.at), MOUTH_MM):
        return  # its mouth is not on the edge, and that is said
    slant = off_square_deg(port, scene.shapes.plate_polygon)
    if slant > 90 - 1e-6:
        return  # it is drilled out of the plate, and that is said
    lifts = 2 * half * math.sin(math.radians(slant))
    if lifts > FLAT_MM:
        yield _slanted(scene, port, slant, -lifts)
        return
    along = shapely.LineString([(x + hy * half, y - hx * half), (x - hy * half, y + hx * half)])
    away = float(
        shapely.hausdorff_distance(along, shapely.intersection(scene.edge, along.buffer(2.0, cap_style="flat")))
    )
    if away > FLAT_MM:
        flat = _flat_half(scene, port)
        if flat - half < value:
            value, what = flat - half, "the end of the straight edge"
    found = [(value, what)]
    for other in scene.shapes.ports.values():
        # Where the other has a fitting of its own, the two fittings are held apart, which is more.
        if other is port or other.heading is None or other.item.use != "plugged":
            continue
        apart = math.hypot(math.dist(port.at, other.at), port.rise - other.rise) - half - other.thread_diameter / 2
        facing = other.heading[0] * hx + other.heading[1] * hy > 0.99
        if facing and abs((other.at[0] - x) * hx + (other.at[1] - y) * hy) < 1.0:
            found.append((apart, other.item.id))
    for value, what in found:
        if value < limit - TOUCH_MM:
            missing = limit - value + moving_apart.HAIR_MM
            if what in FACES_BESIDE:
                way = (_levelled(scene, port, missing if port.rise - low < high - port.rise else -missing),)
                yield _finding(port.item.id, value, limit, port.at, what, *way, how="Move the port's axis")
            else:
                along_it = moving_apart.along_the_edge(scene, port.item.id, missing)
                yield _finding(port.item.id, value, limit, port.at, what, *along_it)


def _levelled(scene: Scene, port: PortShape, by: float) -> Fix | None:
    """An edge port's axis moved up or down in the body's edge."""
    index, level = scene.numbers[port.item.id][1], round(port.rise + by, 2)
    if port.item.locked or level <= 0:
        return None
    way = "up" if by > 0 else "down"
    return Fix(f"Move the axis of {port.item.id} {way} to {mm(level)}", (Change(f"/ports/{index}/level_mm", level),))


def squared(scene: Scene, port: PortShape) -> Fix | None:
    """An edge port drilled square to its edge."""
    index = scene.numbers[port.item.id][1]
    if port.item.heading_deg is None or port.item.locked:
        return None
    return Fix(f"Drill {port.item.id} square to its edge", (Change(f"/ports/{index}/heading_deg", None),))


def _slanted(scene: Scene, port: PortShape, slant: float, value: float) -> Finding:
    id_ = port.item.id
    return Finding(
        rule="fitting-face",
        level="error",
        items=(id_,),
        value=value,
        limit=scene.limit("fitting-face"),
        unit="mm",
        at=port.at,
        message=f"The edge port {id_} is drilled {slant:.1f}° off square to its edge: the ring under its fitting "
        f"stands {mm(-value)} off at one side.",
        remedy="Drill it square to the edge, and turn the channel instead.",
        fix=squared(scene, port),
    )


def _flat_half(scene: Scene, port: PortShape) -> float:
    """How far the edge runs straight to either side of an edge port's mouth, mm: the shorter way."""
    assert port.heading is not None
    (x, y), (hx, hy) = port.at, port.heading
    found = []
    for sign in (1.0, -1.0):
        low, high = 0.0, port.item.fitting_diameter_mm
        for _ in range(12):
            mid = (low + high) / 2
            place = shapely.Point(x + sign * hy * mid, y - sign * hx * mid)
            on = shapely.distance(scene.edge, place) <= FLAT_MM
            low, high = (mid, high) if on else (low, mid)
        found.append(low)
    return min(found)
