"""A tube laid by hand: from port to port through places clicked in plan, at heights that its ports ask for."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sketcher.document import Document
from sketcher.document.hardware import Tube
from sketcher.document.kinds import new_ids
from sketcher.document.tubes import Course, TubePoint
from sketcher.geometry import Shapes
from sketcher.tubes.line import Vector
from sketcher.tubes.runs import End, Run, runs

#: A port whose axis is so near the vertical opens upward or downward.
UPRIGHT = 0.99
#: Places nearer than this in plan are one, mm.
SAME_MM = 0.01
#: Over two ports that both open upward the tube runs level so far above its bends, mm. Common practice, no source.
ABOVE_MM = 10.0


class CannotLay(ValueError):
    """The two ends cannot be joined by a tube; the message says why and what to do."""


def laid(
    document: Document,
    shapes: Shapes,
    ends: tuple[str, str],
    places: Sequence[tuple[float, float]],
    height_mm: float | None = None,
) -> tuple[Document, str]:
    """The document with a tube between two ports, and the id that selects it: the tube's, or its plate port's.

    Corners lie at one height: the given one; without it that of a port that opens sideways, and over two ports that
    open upward as high as the bends need. Over a port that opens upward (or under one that opens downward) a corner
    is added at that height, so that the tube leaves it in line. A tube that is there already gets the new course.

    Args:
        document: the plate.
        shapes: its shapes.
        ends: two device ports (``DEVICE.port``), or one of them and a port of the plate.
        places: corners between the ends in plan, mm, in order.
        height_mm: of the corners above the floor.

    Raises:
        CannotLay: there is no such pair of ports.
    """
    start, end = ends
    if "." in start and "." not in end:
        start, end, places = end, start, list(places)[::-1]
    changed, id_ = _joined(document, start, end)
    # A change of tubes alone leaves every shape where it is.
    run = next(run for run in runs(changed, shapes) if run.id == id_)
    if "." in start and run.start.ref != start:
        places = list(places)[::-1]
    points = tuple(
        TubePoint(x_mm=round(float(x), 6), y_mm=round(float(y), 6), z_mm=round(float(z), 6))
        for x, y, z in _corners(run, places, height_mm)
    )
    return _with_points(changed, id_, points), id_


def _joined(document: Document, start: str, end: str) -> tuple[Document, str]:
    """The document with a tube between the ends, whatever its course."""
    known = {f"{device.id}.{port.id}" for device in document.devices for port in device.ports}
    ports = {port.id: port for port in document.ports}
    for ref in (start, end):
        if ref not in known and ref not in ports:
            raise CannotLay(f"There is no port {ref}. Choose a port of a device or of the plate.")
    if start == end:
        raise CannotLay("The tube ends where it begins. Choose another port for its end.")
    if end in ports:
        raise CannotLay("Two ports of the plate are joined by a channel. A tube joins a port of a device.")
    if start not in ports:
        for tube in document.loop.tubes:
            if {tube.start, tube.end} == {start, end}:
                return document, tube.id
        for ref in (start, end):
            by = [tube.id for tube in document.loop.tubes if ref in (tube.start, tube.end)]
            by += [port.id for port in document.ports if port.serves == ref]
            if by:
                raise CannotLay(f"{ref} is joined by {by[0]} already. Choose another port, or delete that tube first.")
        id_ = next(new_ids(document, "tube"))
        tubes = (*document.loop.tubes, Tube(id=id_, start=start, end=end))
        return document.model_copy(update={"loop": document.loop.model_copy(update={"tubes": tubes})}), id_
    for tube in document.loop.tubes:
        if end in (tube.start, tube.end):
            raise CannotLay(f"{end} is joined by {tube.id} already. Choose another port, or delete that tube first.")
    port = ports[start]
    if port.serves not in (None, end):
        raise CannotLay(f"{start} serves {port.serves}. Choose that port, or another port of the plate.")
    other = next((p.id for p in document.ports if p.serves == end and p.id != start), None)
    if other is not None:
        raise CannotLay(f"{end} is served by {other} already. One device port has one tube.")
    changed = tuple(p.model_copy(update={"serves": end}) if p.id == start else p for p in document.ports)
    return document.model_copy(update={"ports": changed}), start


def _with_points(document: Document, id_: str, points: tuple[TubePoint, ...]) -> Document:
    if any(tube.id == id_ for tube in document.loop.tubes):
        tubes = tuple(t.model_copy(update={"points": points}) if t.id == id_ else t for t in document.loop.tubes)
        return document.model_copy(update={"loop": document.loop.model_copy(update={"tubes": tubes})})
    ports = tuple(
        port.model_copy(update={"tube": (port.tube or Course()).model_copy(update={"points": points})})
        if port.id == id_
        else port
        for port in document.ports
    )
    return document.model_copy(update={"ports": ports})


def _upright(end: End) -> int:
    """1 for a port that opens upward, -1 downward, 0 sideways or where nothing says it."""
    if end.axis is None or abs(float(end.axis[2])) < UPRIGHT:
        return 0
    return 1 if end.axis[2] > 0 else -1


def _corners(run: Run, places: Sequence[tuple[float, float]], height: float | None) -> list[Vector]:
    """The corners in space, mm."""
    ways = (_upright(run.start), _upright(run.end))
    at = [np.array(run.start.at), np.array(run.end.at)]
    if not places and _in_line(run):
        return []
    heights = _levels(run, ways, len(places), height)
    found = [np.array([x, y, z]) for (x, y), z in zip(places, heights[1:-1], strict=True)]
    for n, way in enumerate(ways):
        if not way:
            continue
        riser = np.array([at[n][0], at[n][1], heights[-n]])
        neighbour = (found[0] if n == 0 else found[-1]) if found else at[1 - n]
        # A place that was clicked over the port is that corner already.
        if np.hypot(*(riser - neighbour)[:2]) > SAME_MM:
            found.insert(len(found) if n else 0, riser)
    return found


def _in_line(run: Run) -> bool:
    """Whether the tube runs straight out of its first port into the other."""
    across = run.end.at - run.start.at
    size = float(np.linalg.norm(across))
    return run.start.axis is not None and size > 0 and float(across @ run.start.axis) / size > 0.9999


def _levels(run: Run, ways: tuple[int, int], count: int, height: float | None) -> list[float]:
    """A height for the start, for each of ``count`` corners, and for the end, mm."""
    low, high = float(run.start.at[2]), float(run.end.at[2])
    if height is None:
        if ways == (0, 0):
            # Each leaves its port level; what is between goes from one height to the other.
            return [low, *(float(z) for z in np.linspace(low, high, count)), high]
        if 0 in ways:
            height = low if ways[0] == 0 else high
        elif ways[0] == ways[1]:
            off = run.radius_mm + ABOVE_MM
            height = max(low, high) + off if ways[0] > 0 else max(min(low, high) - off, 0.0)
        else:
            height = (low + high) / 2
    return [height] * (count + 2)
