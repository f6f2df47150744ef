"""Every shape of a document, built once.

Everything in the plate is a prism: a plan polygon and the heights it reaches, measured from the plate's underside.
Two prisms are apart by ``hypot(plan gap, height gap)``, exactly; walls are measured that way.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
import shapely
from shapely import Geometry, Polygon

from sketcher.document import Document
from sketcher.document.collector import without_collection
from sketcher.document.hardware import Board, Device
from sketcher.document.plate import Channel
from sketcher.document.remembered import Remembered
from sketcher.geometry import placement
from sketcher.geometry.holes import HoleShape, hole_shapes
from sketcher.geometry.levels import channel_heights
from sketcher.geometry.outline_contours import Contour, contour
from sketcher.geometry.path import TOLERANCE_MM, Bend, Path, Point, fillet
from sketcher.geometry.ports import PortShape, deepest_at_ports, port_shapes, prisms_of
from sketcher.geometry.prisms import Face, Prism
from sketcher.geometry.rounds import around, buffered, discs, polygon_of, quad_segs, within

__all__ = [
    "AreaShape",
    "ChannelShape",
    "DevicePortPlace",
    "HoleShape",
    "PortShape",
    "Prism",
    "Shapes",
    "build",
    "channel_heights",
    "deepest_at_ports",
    "discs",
    "polygon_of",
    "quad_segs",
]
#: A channel's centreline is taken as chords within this of its true arcs, mm.
LINE_TOLERANCE_MM = TOLERANCE_MM / 4


@dataclass(frozen=True)
class ChannelShape:
    """A channel: its centreline with true bends, and its swept polygon."""

    item: Channel
    path: Path
    bends: tuple[Bend, ...]
    polygon: Polygon
    low: float
    high: float
    core: Geometry | None = None

    @property
    def length_mm(self) -> float:
        """Length of the centreline, mm."""
        return self.path.length


@dataclass(frozen=True)
class AreaShape:
    """An item given by an outline: its true contour, its polygon and the heights it fills.

    ``plan`` and ``levels`` are a board's or a device's outline in its own u and v, and the heights in w it fills.

    Heights of cutouts, pockets and keep-outs count from the plate's underside, those of obstacles, boards and
    devices from the floor.
    """

    id: str
    kind: str
    contour: Contour | None
    polygon: Polygon
    low: float
    high: float
    plan: placement.Vector | None = None
    levels: tuple[float, float] = (0.0, 0.0)


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
    """All shapes of one document. ``thickness`` is body and lid together, mm.

    ``further`` is what is cut beside the prisms: drill points, and the lid screws' wider way through the lid.
    """

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
    further: tuple[Prism, ...] = ()


def build(document: Document) -> Shapes:
    """Every shape of the document."""
    with without_collection():
        return _build(document)


def _build(document: Document) -> Shapes:
    plate = document.plate
    thickness = plate.body_thickness_mm + plate.lid_thickness_mm
    outline = contour(plate.outline)
    plate_polygon = within(outline)
    floor = contour(document.floor.outline)
    ports = port_shapes(document, plate_polygon)
    channels = _channels(document, ports)
    holes = hole_shapes(document, thickness)
    cutouts = _areas(document.cutouts, "cutout", 0.0, thickness)
    keep_outs = _areas(document.keep_outs, "keep-out", 0.0, thickness)
    pockets = _pockets(document, thickness)
    frames = placement.frames(document)
    below: Face = "lid" if plate.lid_face == "bottom" else "body"
    above: Face = "body" if below == "lid" else "lid"
    through: tuple[Face, Face] = (below, above)
    on_face: dict[str, tuple[Face, Face]] = {
        pocket.id: (above, above) if pocket.face == "top" else (below, below) for pocket in document.pockets
    }
    return Shapes(
        document=document,
        thickness=thickness,
        plate=outline,
        plate_polygon=plate_polygon,
        floor=floor,
        floor_polygon=within(floor),
        ports=ports,
        channels=channels,
        holes=holes,
        cutouts=cutouts,
        pockets=pockets,
        keep_outs=keep_outs,
        obstacles={
            item.id: _area(item, "obstacle", item.bottom_mm, item.height_mm) for item in document.floor.obstacles
        },
        openings=_areas(document.floor.openings, "opening", -document.floor.thickness_mm, 0.0),
        boards={board.id: _board(board, frames[board.id]) for board in document.boards},
        devices={d.id: _device(d, frames[d.id]) for d in document.devices if d.outline is not None},
        device_ports=_device_ports(document, frames),
        frames=frames,
        prisms=(
            *(_prisms.of((channel,), None, partial(_channel_prism, channel)) for channel in channels.values()),
            *prisms_of(ports),
            *(_prism(area, through) for area in cutouts.values()),
            *(_prism(area, on_face[area.id]) for area in pockets.values()),
            *(prism for hole in holes.values() for prism in (hole.prism, hole.head) if prism is not None),
        ),
        further=(
            *(port.point for port in ports.values() if port.point is not None),
            *(prism for hole in holes.values() for prism in hole.further),
        ),
    )


_prisms: Remembered[Prism] = Remembered()


def _channel_prism(channel: ChannelShape) -> Prism:
    item = channel.item
    return Prism(item.id, "channel", channel.polygon, channel.low, channel.high, channel.core, item.width_mm / 2)


def _prism(area: AreaShape, faces: tuple[Face, Face]) -> Prism:
    def make() -> Prism:
        return Prism(area.id, area.kind, area.polygon, area.low, area.high, None, 0.0, None, *faces)

    return _prisms.of((area,), faces, make)


def _areas(items: Iterable[Any], kind: str, low: float, high: float) -> dict[str, AreaShape]:
    return {item.id: _area(item, kind, low, high) for item in items}


_area_shapes: Remembered[AreaShape] = Remembered()


def _area(item: Any, kind: str, low: float, high: float) -> AreaShape:
    def make() -> AreaShape:
        found = contour(item.outline)
        return AreaShape(item.id, kind, found, around(found), low, high)

    return _area_shapes.of((item,), (kind, low, high), make)


def _pockets(document: Document, thickness: float) -> dict[str, AreaShape]:
    found = {}
    for pocket in document.pockets:
        low, high = (thickness - pocket.depth_mm, thickness) if pocket.face == "top" else (0.0, pocket.depth_mm)
        found[pocket.id] = _area(pocket, "pocket", low, high)
    return found


_channel_shapes: Remembered[ChannelShape] = Remembered()


def _channels(document: Document, ports: dict[str, PortShape]) -> dict[str, ChannelShape]:
    roots: dict[str | None, Point] = {id_: port.root for id_, port in ports.items()}
    roots.update({branch.id: (branch.x_mm, branch.y_mm) for branch in document.branches})
    channels = document.channels
    wanted = [((channel, document.plate), (roots.get(channel.start), roots.get(channel.end))) for channel in channels]
    found = _channel_shapes.all(wanted, lambda new: _channels_made(document, [channels[n] for n in new], roots))
    return {shape.item.id: shape for shape in found}


def _channels_made(
    document: Document, channels: Sequence[Channel], roots: Mapping[str | None, Point]
) -> list[ChannelShape]:
    paths, lines, radii = [], [], []
    for channel in channels:
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
        points = path.points(LINE_TOLERANCE_MM) if path.segments else [corners[0], corners[0]]
        lines.append(shapely.LineString(points))
        radii.append(channel.width_mm / 2)
    found = []
    for channel, (path, bends), line, polygon in zip(channels, paths, lines, buffered(lines, radii), strict=True):
        low, high = channel_heights(document, channel.depth_mm)
        found.append(ChannelShape(channel, path, bends, polygon, low, high, line))
    return found


_shadows: Remembered[AreaShape] = Remembered()


def _placed(frame: placement.Frame) -> tuple[bytes, bytes]:
    return frame.origin.tobytes(), frame.axes.tobytes()


def _board(board: Board, frame: placement.Frame) -> AreaShape:
    return _shadows.of((board,), _placed(frame), lambda: _board_made(board, frame))


def _board_made(board: Board, frame: placement.Frame) -> AreaShape:
    width, depth = placement.board_size(board)
    plan = np.array([(0, 0), (width, 0), (width, depth), (0, depth)])
    return _shadow(board.id, "board", frame, plan, (-board.thickness_mm, board.parts_height_mm))


def _device(device: Device, frame: placement.Frame) -> AreaShape:
    return _shadows.of((device,), _placed(frame), lambda: _device_made(device, frame))


def _device_made(device: Device, frame: placement.Frame) -> AreaShape:
    assert device.outline is not None
    # A little too large where it is round, never too small: what overlaps must not read as clear.
    plan = np.array(around(contour(device.outline), TOLERANCE_MM).exterior.coords[:-1])
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
    return AreaShape(id_, kind, None, hull, float(rows[:, 2].min()), float(rows[:, 2].max()), plan, levels)


def _device_ports(document: Document, frames: dict[str, placement.Frame]) -> dict[str, DevicePortPlace]:
    found = {}
    for device in document.devices:
        for port in device.ports:
            x, y, z = (float(value) for value in frames[device.id].place(port.u_mm, port.v_mm, port.w_mm))
            ref = f"{device.id}.{port.id}"
            found[ref] = DevicePortPlace(ref, device.id, x, y, z)
    return found
