"""Ports: where they open, where channels reach them, and what is drilled and tapped for them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from sketcher.document import Document
from sketcher.document.plate import Port
from sketcher.document.remembered import Remembered
from sketcher.geometry.levels import channel_heights, joint_mm
from sketcher.geometry.path import Point
from sketcher.geometry.prisms import Barrel, Cone, Face, Prism, point_mm
from sketcher.geometry.rounds import discs
from sketcher.reference import threads
from sketcher.reference.tables import UnknownEntry
from sketcher.reference.threads import Thread

#: An edge port's bore goes on this far behind its thread when the document does not say.
EDGE_BORE_BEYOND_MM = 5.0
#: A bore that ends where the document does not say goes so far into its channel, mm: no skin stays between the two.
#: Common practice, no source. The limit ``bore-meets`` in a document takes its place.
BORE_OVERLAP_MM = 0.5


@dataclass(frozen=True)
class PortShape:
    """A port: where it opens (``at``), where channels reach it (``root``), and its parts.

    ``heading`` is an edge port's unit vector into the plate. ``thread`` is none for a marker or an unknown thread.
    ``rise`` is the height of the bore's far end for a top or bottom port, of its axis for an edge port. ``point`` is
    the drill's point beyond the bore's end; none for a flat end, or for a bore right through the lid.
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
    point: Prism | None = None


def deepest_at_ports(document: Document) -> dict[str, float]:
    """The depth of the deepest channel at each port that a channel reaches, mm."""
    found: dict[str, float] = {}
    for channel in document.channels:
        for end in (channel.start, channel.end):
            if end is not None:
                found[end] = max(found.get(end, 0.0), channel.depth_mm)
    return found


_shapes: Remembered[PortShape] = Remembered()


def port_shapes(document: Document, plate: Polygon) -> dict[str, PortShape]:
    """Every port of the document, by id. ``plate`` is the polygon of the document's own plate."""
    deepest, ports = deepest_at_ports(document), document.ports
    overlap = document.limits.get("bore-meets")
    wanted = [((port, document.plate), (deepest.get(port.id), overlap)) for port in ports]
    found = _shapes.all(wanted, lambda new: _made(document, plate, [ports[n] for n in new], deepest).values())
    return {shape.item.id: shape for shape in found}


def _made(document: Document, plate: Polygon, ports: Sequence[Port], deepest: dict[str, float]) -> dict[str, PortShape]:
    known = [_thread(port.thread) for port in ports]
    diameters = [_diameters(port, thread) for port, thread in zip(ports, known, strict=True)]
    places = [(port.x_mm, port.y_mm) for port in ports]
    cores = np.asarray(shapely.points(np.array(places, dtype=float).reshape(-1, 2)), dtype=object)
    thread_discs = discs(places, [t / 2 for t, _ in diameters])
    bore_discs = discs(places, [b / 2 for _, b in diameters])
    fittings = discs(places, [port.fitting_diameter_mm / 2 for port in ports])
    found = {}
    for i, port in enumerate(ports):
        thread_diameter, bore_diameter = diameters[i]
        if port.face == "edge":
            found[port.id] = _edge_port(document, port, known[i], thread_diameter, bore_diameter, plate)
            continue
        top = document.plate.body_thickness_mm + document.plate.lid_thickness_mm
        depth = deepest.get(port.id)
        rise = _bore_end(document, port, depth)
        face: Face = "lid" if port.face == document.plate.lid_face else "body"
        ends: Face = "joint" if port.bore_depth_mm is None and depth is not None else face
        if port.face == "top":
            thread_heights, bore_heights = (top - port.thread_depth_mm, top), (rise, top)
            faces: tuple[Face, Face] = (ends, face)
        else:
            thread_heights, bore_heights = (0.0, port.thread_depth_mm), (0.0, rise)
            faces = (face, ends)
        core = cores[i]
        found[port.id] = PortShape(
            item=port,
            at=places[i],
            root=places[i],
            heading=None,
            thread=known[i],
            thread_diameter=thread_diameter,
            bore_diameter=bore_diameter,
            rise=rise,
            thread_prism=Prism(
                port.id, "thread", thread_discs[i], *thread_heights, core, thread_diameter / 2, None, face, face
            ),
            bore_prism=Prism(port.id, "bore", bore_discs[i], *bore_heights, core, bore_diameter / 2, None, *faces),
            fitting=fittings[i],
            point=_point(document, port, bore_discs[i], bore_diameter, rise, ends, core),
        )
    return found


def _thread(name: str | None) -> Thread | None:
    try:
        return threads.thread(name) if name is not None else None
    except UnknownEntry:
        return None


def _diameters(port: Port, thread: Thread | None) -> tuple[float, float]:
    """Diameters of the thread (the bore again for a marker) and of the bore, mm."""
    bore = port.bore_diameter_mm or (thread.tap_drill_mm if thread else 10.0)
    return (thread.major_mm if thread else bore), bore


def _bore_end(document: Document, port: Port, channel_depth: float | None) -> float:
    """Height of the far end of a top or bottom port's bore above the plate's underside."""
    top = document.plate.body_thickness_mm + document.plate.lid_thickness_mm
    if port.bore_depth_mm is not None:
        return top - port.bore_depth_mm if port.face == "top" else port.bore_depth_mm
    if channel_depth is None:
        return top - port.thread_depth_mm if port.face == "top" else port.thread_depth_mm
    low, high = channel_heights(document, channel_depth)
    if port.face == document.plate.lid_face:
        return high if port.face == "top" else low  # right through the lid, into the open channel
    overlap = min(document.limits.get("bore-meets", BORE_OVERLAP_MM), channel_depth)
    return high - overlap if port.face == "top" else low + overlap


def _point(
    document: Document, port: Port, disc: Polygon, diameter: float, rise: float, ends: Face, core: shapely.Point
) -> Prism | None:
    """The cone that the drill leaves beyond a bore's end, as far as there is body: the lid is not on yet."""
    joint, length = joint_mm(document), point_mm(diameter)
    if port.drill_end == "flat" or port.face == document.plate.lid_face:
        return None
    if port.face == "top":
        low, high = max(rise - length, joint), rise
    else:
        low, high = rise, min(rise + length, joint)
    if high - low < 1e-6:
        return None
    left = diameter / 2 * (1 - (high - low) / length)
    radii = (left, diameter / 2) if port.face == "top" else (diameter / 2, left)
    cone = Cone((port.x_mm, port.y_mm), low, radii[0], high, radii[1])
    return Prism(port.id, "bore", disc, low, high, core, diameter / 2, cone, ends, ends)


def _edge_port(
    document: Document, port: Port, thread: Thread | None, thread_diameter: float, bore_diameter: float, plate: Polygon
) -> PortShape:
    at = (port.x_mm, port.y_mm)
    heading = _inwards(port, at, plate)
    depth = port.bore_depth_mm or port.thread_depth_mm + EDGE_BORE_BEYOND_MM
    root = (at[0] + heading[0] * depth, at[1] + heading[1] * depth)
    level = port.level_mm if port.level_mm is not None else _mid_body(document)
    half = port.fitting_diameter_mm / 2
    dx, dy = -heading[1] * half, heading[0] * half
    # The fitting stands outside the edge; it is about as long as it is wide.
    ox, oy = at[0] - heading[0] * port.fitting_diameter_mm, at[1] - heading[1] * port.fitting_diameter_mm
    fitting = Polygon([(at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy), (ox + dx, oy + dy), (ox - dx, oy - dy)])
    tip = 0.0 if port.drill_end == "flat" else point_mm(bore_diameter)
    return PortShape(
        item=port,
        at=at,
        root=root,
        heading=heading,
        thread=thread,
        thread_diameter=thread_diameter,
        bore_diameter=bore_diameter,
        rise=level,
        thread_prism=_barrel(port, "thread", heading, level, thread_diameter, port.thread_depth_mm),
        bore_prism=_barrel(port, "bore", heading, level, bore_diameter, depth, tip),
        fitting=fitting,
    )


def _barrel(
    port: Port, part: str, heading: Point, level: float, diameter: float, reach: float, tip: float = 0.0
) -> Prism:
    at, half = (port.x_mm, port.y_mm), diameter / 2
    dx, dy = -heading[1] * half, heading[0] * half
    ex, ey = at[0] + heading[0] * reach, at[1] + heading[1] * reach
    corners = [(at[0] - dx, at[1] - dy), (ex - dx, ey - dy), (ex + dx, ey + dy), (at[0] + dx, at[1] + dy)]
    solid = Barrel(at, heading, reach, level, half, tip)
    # Around the drill's point too, for finding what is near; the drawing shows the depth that is asked for.
    ends = (at[0] + heading[0] * (reach + tip), at[1] + heading[1] * (reach + tip))
    core = Polygon([*corners[:2], ends, *corners[2:]]) if tip else None
    return Prism(port.id, part, Polygon(corners), level - half, level + half, core, solid=solid)


def _mid_body(document: Document) -> float:
    plate = document.plate
    below = plate.lid_thickness_mm if plate.lid_face == "bottom" else 0.0
    return below + plate.body_thickness_mm / 2


def _inwards(port: Port, at: Point, plate: Polygon) -> Point:
    """Unit vector from an edge port into the plate: as the document says, or square to the nearest edge."""
    if port.heading_deg is not None:
        angle = math.radians(port.heading_deg)
        return (math.cos(angle), math.sin(angle))
    return square_to_the_edge(at, plate)


def square_to_the_edge(at: Point, plate: Polygon) -> Point:
    """Unit vector into the plate, square to the edge that is nearest to a place."""
    ring = plate.exterior
    along = ring.project(shapely.Point(at))
    before, after = ring.interpolate(max(along - 0.05, 0.0)), ring.interpolate(min(along + 0.05, ring.length))
    dx, dy = after.x - before.x, after.y - before.y
    size = math.hypot(dx, dy) or 1.0
    # Contours run counter-clockwise: the inside is to the left of travel.
    inwards = (-dy / size, dx / size)
    return inwards if ring.is_ccw else (-inwards[0], -inwards[1])


def off_square_deg(port: PortShape, plate: Polygon) -> float:
    """By how much an edge port is drilled off square to its edge, degrees; 0 for a port on a broad face."""
    if port.heading is None:
        return 0.0
    (hx, hy), (nx, ny) = port.heading, square_to_the_edge(port.at, plate)
    return math.degrees(math.atan2(abs(hx * ny - hy * nx), hx * nx + hy * ny))


def prisms_of(ports: dict[str, PortShape]) -> Iterator[Prism]:
    """The prisms of every port, thread and bore."""
    for port in ports.values():
        yield port.thread_prism
        yield port.bore_prism
