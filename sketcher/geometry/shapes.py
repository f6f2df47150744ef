"""Every shape of a document, built once.

Everything in the plate is a prism: a plan polygon and the heights it reaches, measured from the plate's underside.
Two prisms are apart by ``hypot(plan gap, height gap)``, exactly; walls are measured that way.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import Polygon

from sketcher.document import Document
from sketcher.document.hardware import Board, Device
from sketcher.document.plate import Channel, Hole, Port
from sketcher.geometry import placement
from sketcher.geometry.outlines import Contour, contour, round_contour, slot_contour
from sketcher.geometry.path import TOLERANCE_MM, Bend, Path, Point, fillet
from sketcher.reference import screws, threads
from sketcher.reference.screws import Screw
from sketcher.reference.tables import UnknownEntry
from sketcher.reference.threads import Thread

#: An edge port's bore goes on this far behind its thread when the document does not say.
EDGE_BORE_BEYOND_MM = 5.0


@dataclass(frozen=True)
class Prism:
    """A part of an item in the plate: ``part`` is channel, thread, bore, cutout, pocket, hole or head."""

    id: str
    part: str
    polygon: Polygon
    low: float
    high: float

    @property
    def wet(self) -> bool:
        """Whether coolant stands in it."""
        return self.part in ("channel", "bore", "thread")


@dataclass(frozen=True)
class ChannelShape:
    """A channel: its centreline with true bends, and its swept polygon."""

    item: Channel
    path: Path
    bends: tuple[Bend, ...]
    polygon: Polygon
    low: float
    high: float

    @property
    def length_mm(self) -> float:
        """Length of the centreline, mm."""
        return self.path.length


@dataclass(frozen=True)
class PortShape:
    """A port: where it opens (``at``), where channels reach it (``root``), and its parts.

    ``heading`` is an edge port's unit vector into the plate. ``thread`` is none for a marker or an unknown thread.
    ``rise`` is the height of the bore's far end for a top or bottom port, of its axis for an edge port.
    """

    item: Port
    at: Point
    root: Point
    heading: Point | None
    thread: Thread | None
    thread_diameter: float
    bore_diameter: float
    rise: float
    thread_prism: Prism
    bore_prism: Prism
    fitting: Polygon


@dataclass(frozen=True)
class HoleShape:
    """A screw hole, its diameter and its head's recess."""

    item: Hole
    contour: Contour
    screw: Screw | None
    diameter: float
    prism: Prism
    head: Prism | None


@dataclass(frozen=True)
class AreaShape:
    """An item given by an outline: its true contour, its polygon and the heights it fills.

    Heights of cutouts, pockets and keep-outs count from the plate's underside, those of obstacles, boards and
    devices from the floor.
    """

    id: str
    kind: str
    contour: Contour | None
    polygon: Polygon
    low: float
    high: float


@dataclass(frozen=True)
class DevicePortPlace:
    """A device's port in the floor's axes, mm."""

    ref: str
    device: str
    x: float
    y: float
    z: float


@dataclass(frozen=True)
class Shapes:
    """All shapes of one document. ``thickness`` is body and lid together, mm."""

    document: Document
    thickness: float
    plate: Contour
    plate_polygon: Polygon
    floor: Contour
    floor_polygon: Polygon
    ports: dict[str, PortShape]
    channels: dict[str, ChannelShape]
    holes: dict[str, HoleShape]
    cutouts: dict[str, AreaShape]
    pockets: dict[str, AreaShape]
    keep_outs: dict[str, AreaShape]
    obstacles: dict[str, AreaShape]
    openings: dict[str, AreaShape]
    boards: dict[str, AreaShape]
    devices: dict[str, AreaShape]
    device_ports: dict[str, DevicePortPlace]
    frames: dict[str, placement.Frame]
    prisms: tuple[Prism, ...]


def build(document: Document) -> Shapes:
    """Every shape of the document."""
    plate = document.plate
    thickness = plate.body_thickness_mm + plate.lid_thickness_mm
    outline = contour(plate.outline)
    plate_polygon = polygon_of(outline)
    floor = contour(document.floor.outline)
    ports = _ports(document, plate_polygon)
    channels = _channels(document, ports)
    holes = _holes(document.holes, thickness)
    cutouts = _areas(document.cutouts, "cutout", 0.0, thickness)
    keep_outs = _areas(document.keep_outs, "keep-out", 0.0, thickness)
    pockets = _pockets(document, thickness)
    frames = placement.frames(document)
    return Shapes(
        document=document,
        thickness=thickness,
        plate=outline,
        plate_polygon=plate_polygon,
        floor=floor,
        floor_polygon=polygon_of(floor),
        ports=ports,
        channels=channels,
        holes=holes,
        cutouts=cutouts,
        pockets=pockets,
        keep_outs=keep_outs,
        obstacles={
            item.id: AreaShape(item.id, "obstacle", c, polygon_of(c), item.bottom_mm, item.height_mm)
            for item in document.floor.obstacles
            for c in [contour(item.outline)]
        },
        openings=_areas(document.floor.openings, "opening", -document.floor.thickness_mm, 0.0),
        boards={board.id: _board(board, frames[board.id]) for board in document.boards},
        devices={d.id: _device(d, frames[d.id]) for d in document.devices if d.outline is not None},
        device_ports=_device_ports(document, frames),
        frames=frames,
        prisms=(
            *(Prism(id_, "channel", c.polygon, c.low, c.high) for id_, c in channels.items()),
            *(prism for port in ports.values() for prism in (port.thread_prism, port.bore_prism)),
            *(Prism(area.id, area.kind, area.polygon, area.low, area.high) for area in cutouts.values()),
            *(Prism(area.id, area.kind, area.polygon, area.low, area.high) for area in pockets.values()),
            *(prism for hole in holes.values() for prism in (hole.prism, hole.head) if prism is not None),
        ),
    )


def polygon_of(outline: Contour, tolerance: float = TOLERANCE_MM) -> Polygon:
    """A contour as a polygon within ``tolerance`` mm; a contour that crosses itself gives an invalid one."""
    return Polygon(outline.path.points(tolerance))


def quad_segs(radius: float, tolerance: float = TOLERANCE_MM) -> int:
    """Chords in a quarter circle that keep a polygon within ``tolerance`` of a circle of this radius."""
    if radius <= tolerance:
        return 1
    return max(2, math.ceil(math.pi / (4 * math.acos(1 - tolerance / radius))))


def discs(centres: Sequence[Point], radii: Sequence[float]) -> list[Polygon]:
    """Discs as polygons within the tolerance, all at once for each radius."""
    return _buffered([shapely.Point(centre) for centre in centres], radii)


def _buffered(cores: Sequence[shapely.Geometry], radii: Sequence[float]) -> list[Polygon]:
    found: list[Polygon | None] = [None] * len(cores)
    by_radius: dict[float, list[int]] = {}
    for i, radius in enumerate(radii):
        by_radius.setdefault(radius, []).append(i)
    for radius, members in by_radius.items():
        rounds = shapely.buffer(
            np.array([cores[i] for i in members], dtype=object), radius, quad_segs=quad_segs(radius)
        )
        for i, polygon in zip(members, rounds, strict=True):
            found[i] = polygon
    return found  # type: ignore[return-value]


def _areas(items: Iterable[Any], kind: str, low: float, high: float) -> dict[str, AreaShape]:
    return {
        item.id: AreaShape(item.id, kind, c, polygon_of(c), low, high)
        for item in items
        for c in [contour(item.outline)]
    }


def _pockets(document: Document, thickness: float) -> dict[str, AreaShape]:
    found = {}
    for pocket in document.pockets:
        low, high = (thickness - pocket.depth_mm, thickness) if pocket.face == "top" else (0.0, pocket.depth_mm)
        c = contour(pocket.outline)
        found[pocket.id] = AreaShape(pocket.id, "pocket", c, polygon_of(c), low, high)
    return found


def channel_heights(document: Document, depth: float) -> tuple[float, float]:
    """Low and high of a channel of this depth above the plate's underside: it is milled from the lid's side."""
    plate = document.plate
    if plate.lid_face == "bottom":
        return plate.lid_thickness_mm, plate.lid_thickness_mm + depth
    return plate.body_thickness_mm - depth, plate.body_thickness_mm


def _channels(document: Document, ports: dict[str, PortShape]) -> dict[str, ChannelShape]:
    roots: dict[str, Point] = {id_: port.root for id_, port in ports.items()}
    roots.update({branch.id: (branch.x_mm, branch.y_mm) for branch in document.branches})
    paths, lines, radii = [], [], []
    for channel in document.channels:
        corners = [(point.x_mm, point.y_mm) for point in channel.points]
        wishes = [
            channel.bend_radius_mm if point.bend_radius_mm is None else point.bend_radius_mm for point in channel.points
        ]
        if channel.start is not None:
            corners.insert(0, roots[channel.start])
            wishes.insert(0, 0.0)
        if channel.end is not None:
            corners.append(roots[channel.end])
            wishes.append(0.0)
        path, found_bends = fillet(corners, wishes)
        paths.append((path, tuple(found_bends)))
        points = path.points(TOLERANCE_MM / 2) if path.segments else [corners[0], corners[0]]
        lines.append(shapely.LineString(points))
        radii.append(channel.width_mm / 2)
    found = {}
    for channel, (path, bends), polygon in zip(document.channels, paths, _buffered(lines, radii), strict=True):
        low, high = channel_heights(document, channel.depth_mm)
        found[channel.id] = ChannelShape(channel, path, bends, polygon, low, high)
    return found


def _thread(name: str | None) -> Thread | None:
    try:
        return threads.thread(name) if name is not None else None
    except UnknownEntry:
        return None


def _ports(document: Document, plate: Polygon) -> dict[str, PortShape]:
    deepest = deepest_at_ports(document)
    known = [_thread(port.thread) for port in document.ports]
    diameters = [_port_diameters(port, thread) for port, thread in zip(document.ports, known, strict=True)]
    places = [(port.x_mm, port.y_mm) for port in document.ports]
    thread_discs = discs(places, [t / 2 for t, _ in diameters])
    bore_discs = discs(places, [b / 2 for _, b in diameters])
    fittings = discs(places, [port.fitting_diameter_mm / 2 for port in document.ports])
    found = {}
    for i, port in enumerate(document.ports):
        thread_diameter, bore_diameter = diameters[i]
        if port.face == "edge":
            found[port.id] = _edge_port(document, port, known[i], thread_diameter, bore_diameter, plate)
            continue
        top = document.plate.body_thickness_mm + document.plate.lid_thickness_mm
        rise = _bore_end(document, port, deepest.get(port.id))
        if port.face == "top":
            thread_heights, bore_heights = (top - port.thread_depth_mm, top), (rise, top)
        else:
            thread_heights, bore_heights = (0.0, port.thread_depth_mm), (0.0, rise)
        found[port.id] = PortShape(
            item=port,
            at=places[i],
            root=places[i],
            heading=None,
            thread=known[i],
            thread_diameter=thread_diameter,
            bore_diameter=bore_diameter,
            rise=rise,
            thread_prism=Prism(port.id, "thread", thread_discs[i], *thread_heights),
            bore_prism=Prism(port.id, "bore", bore_discs[i], *bore_heights),
            fitting=fittings[i],
        )
    return found


def _port_diameters(port: Port, thread: Thread | None) -> tuple[float, float]:
    """Diameters of the thread (the bore again for a marker) and of the bore, mm."""
    bore = port.bore_diameter_mm or (thread.tap_drill_mm if thread else 10.0)
    return (thread.major_mm if thread else bore), bore


def deepest_at_ports(document: Document) -> dict[str, float]:
    """The depth of the deepest channel at each port that a channel reaches, mm."""
    found: dict[str, float] = {}
    for channel in document.channels:
        for end in (channel.start, channel.end):
            if end is not None:
                found[end] = max(found.get(end, 0.0), channel.depth_mm)
    return found


def _bore_end(document: Document, port: Port, channel_depth: float | None) -> float:
    """Height of the far end of a top or bottom port's bore above the plate's underside."""
    top = document.plate.body_thickness_mm + document.plate.lid_thickness_mm
    if port.bore_depth_mm is not None:
        return top - port.bore_depth_mm if port.face == "top" else port.bore_depth_mm
    if channel_depth is None:
        return top - port.thread_depth_mm if port.face == "top" else port.thread_depth_mm
    low, high = channel_heights(document, channel_depth)
    return high if port.face == "top" else low


def _edge_port(
    document: Document, port: Port, thread: Thread | None, thread_diameter: float, bore_diameter: float, plate: Polygon
) -> PortShape:
    at = (port.x_mm, port.y_mm)
    heading = _inwards(port, at, plate)
    depth = port.bore_depth_mm or port.thread_depth_mm + EDGE_BORE_BEYOND_MM
    root = (at[0] + heading[0] * depth, at[1] + heading[1] * depth)
    level = port.level_mm if port.level_mm is not None else _mid_body(document)

    def barrel(part: str, diameter: float, reach: float) -> Prism:
        half = diameter / 2
        dx, dy = -heading[1] * half, heading[0] * half
        ex, ey = at[0] + heading[0] * reach, at[1] + heading[1] * reach
        corners = [(at[0] - dx, at[1] - dy), (ex - dx, ey - dy), (ex + dx, ey + dy), (at[0] + dx, at[1] + dy)]
        return Prism(port.id, part, Polygon(corners), level - half, level + half)

    half = port.fitting_diameter_mm / 2
    dx, dy = -heading[1] * half, heading[0] * half
    # The fitting stands outside the edge; it is about as long as it is wide.
    ox, oy = at[0] - heading[0] * port.fitting_diameter_mm, at[1] - heading[1] * port.fitting_diameter_mm
    fitting = Polygon([(at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy), (ox + dx, oy + dy), (ox - dx, oy - dy)])
    return PortShape(
        item=port,
        at=at,
        root=root,
        heading=heading,
        thread=thread,
        thread_diameter=thread_diameter,
        bore_diameter=bore_diameter,
        rise=level,
        thread_prism=barrel("thread", thread_diameter, port.thread_depth_mm),
        bore_prism=barrel("bore", bore_diameter, depth),
        fitting=fitting,
    )


def _mid_body(document: Document) -> float:
    plate = document.plate
    below = plate.lid_thickness_mm if plate.lid_face == "bottom" else 0.0
    return below + plate.body_thickness_mm / 2


def _inwards(port: Port, at: Point, plate: Polygon) -> Point:
    """Unit vector from an edge port into the plate: as the document says, or square to the nearest edge."""
    if port.heading_deg is not None:
        angle = math.radians(port.heading_deg)
        return (math.cos(angle), math.sin(angle))
    ring = plate.exterior
    along = ring.project(shapely.Point(at))
    before, after = ring.interpolate(max(along - 0.05, 0.0)), ring.interpolate(min(along + 0.05, ring.length))
    dx, dy = after.x - before.x, after.y - before.y
    size = math.hypot(dx, dy) or 1.0
    # Contours run counter-clockwise: the inside is to the left of travel.
    inwards = (-dy / size, dx / size)
    return inwards if ring.is_ccw else (-inwards[0], -inwards[1])


def _screw(name: str) -> Screw | None:
    try:
        return screws.screw(name)
    except UnknownEntry:
        return None


def _holes(items: Sequence[Hole], thickness: float) -> dict[str, HoleShape]:
    known = [_screw(hole.screw) for hole in items]
    sizes = [_hole_diameter(hole, screw) for hole, screw in zip(items, known, strict=True)]
    places = [(hole.x_mm, hole.y_mm) for hole in items]
    rounds = discs(places, [size / 2 for size in sizes])
    found = {}
    for hole, screw, size, place, disc in zip(items, known, sizes, places, rounds, strict=True):
        outline, polygon = round_contour(place, size / 2), disc
        if hole.slot_length_mm is not None and hole.slot_length_mm > size:
            outline = slot_contour(place, hole.slot_length_mm, size, math.radians(hole.turn_deg))
            polygon = polygon_of(outline)
        low, high = 0.0, thickness
        if hole.kind == "tapped" and hole.depth_mm is not None:
            low, high = (thickness - hole.depth_mm, thickness) if hole.face == "top" else (0.0, hole.depth_mm)
        prism = Prism(hole.id, "hole", polygon, max(low, 0.0), min(high, thickness))
        found[hole.id] = HoleShape(hole, outline, screw, size, prism, _head(hole, screw, place, thickness))
    return found


def _hole_diameter(hole: Hole, screw: Screw | None) -> float:
    if hole.diameter_mm is not None:
        return hole.diameter_mm
    if screw is None:
        return 4.5
    return screw.tap_drill_mm if hole.kind == "tapped" else screw.clearance_mm


def _head(hole: Hole, screw: Screw | None, place: Point, thickness: float) -> Prism | None:
    """The recess of a sunk head; a countersink counts at its full width all the way down."""
    if screw is None or hole.kind not in ("countersunk", "counterbored"):
        return None
    head = screw.countersunk_head if hole.kind == "countersunk" and screw.countersunk_head else screw.cap_head
    disc = discs([place], [head.diameter_mm / 2])[0]
    low, high = (thickness - head.height_mm, thickness) if hole.face == "top" else (0.0, head.height_mm)
    return Prism(hole.id, "head", disc, low, high)


def _board(board: Board, frame: placement.Frame) -> AreaShape:
    width, depth = placement.board_size(board)
    plan = np.array([(0, 0), (width, 0), (width, depth), (0, depth)])
    return _shadow(board.id, "board", frame, plan, (-board.thickness_mm, board.parts_height_mm))


def _device(device: Device, frame: placement.Frame) -> AreaShape:
    assert device.outline is not None
    plan = np.array(contour(device.outline).path.points(0.1))
    return _shadow(device.id, "device", frame, plan, (0.0, device.height_mm))


def _shadow(
    id_: str, kind: str, frame: placement.Frame, plan: placement.Vector, levels: tuple[float, float]
) -> AreaShape:
    """What a body casts on the floor: the hull of its corners, and the heights between which it stands.

    The body is the outline ``plan`` (n, 2) in the frame's u and v, between two ``levels`` of w.
    """
    corners = np.vstack([np.column_stack([plan, np.full(len(plan), level)]) for level in levels])
    rows = frame.origin + corners @ frame.axes.T
    hull = shapely.MultiPoint(rows[:, :2]).convex_hull
    if not isinstance(hull, Polygon):  # a board seen exactly on edge is a line
        hull = hull.buffer(TOLERANCE_MM)
    return AreaShape(id_, kind, None, hull, float(rows[:, 2].min()), float(rows[:, 2].max()))


def _device_ports(document: Document, frames: dict[str, placement.Frame]) -> dict[str, DevicePortPlace]:
    found = {}
    for device in document.devices:
        for port in device.ports:
            x, y, z = (float(value) for value in frames[device.id].place(port.u_mm, port.v_mm, port.w_mm))
            ref = f"{device.id}.{port.id}"
            found[ref] = DevicePortPlace(ref, device.id, x, y, z)
    return found
