"""Every tube of a document in space: from which port to which, by which fittings, of which size."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from sketcher.document import Document
from sketcher.document.hardware import Device, Tube
from sketcher.document.plate import Port
from sketcher.document.remembered import Remembered
from sketcher.document.tubes import Course, Fitting
from sketcher.geometry import Shapes
from sketcher.geometry.levels import above_floor_mm, gasket_mm
from sketcher.geometry.outline_contours import contour
from sketcher.reference import tube_sizes as sizes
from sketcher.reference.tables import UnknownEntry
from sketcher.tubes.line import SpaceLine, Vector, rounded, unit

#: An elbow's corner stands this many outer diameters above its port, and its other arm is as long, when the document
#: does not say. Common practice, no source.
_ELBOW_DIAMETERS = 1.0
#: A port within this of a side of its device's body belongs to that side, mm.
_AT_SIDE_MM = 2.0
#: By how much an elbow turns, degrees.
ELBOWS = {"elbow-45": 45.0, "elbow-90": 90.0}


@dataclass(frozen=True, eq=False)
class End:
    """One end of a tube.

    Attributes:
        ref: the port's id, or ``DEVICE.port``.
        at: the port's face, (3,).
        axis: unit vector out of the port; none when nothing says where it points.
        fitting: as the document has it.
        bore_mm, height_mm, insertion_mm: the fitting's, with the defaults filled in.
    """

    ref: str
    at: Vector
    axis: Vector | None
    fitting: Fitting
    bore_mm: float
    height_mm: float
    insertion_mm: float

    @property
    def elbow_deg(self) -> float:
        """By how much the fitting turns the flow."""
        return ELBOWS.get(self.fitting.kind, 0.0)


@dataclass(frozen=True, eq=False)
class Run:
    """A tube between two ports.

    Attributes:
        id: the tube's id; of a drop, the port's.
        kind: ``drop`` or ``tube``.
        course: as the document has it.
        material, size: of the table; none when the document names none.
        inner_mm, outer_mm: diameters.
        radius_mm: of its bends, where a corner has none of its own.
        least_radius_mm: that the size allows; none when nothing says so.
        start, end: its ends.
        line: its centreline between the fittings' faces, where it enters them.
        drawn: whether the document gives its corners.
    """

    id: str
    kind: str
    course: Course
    material: sizes.TubeMaterial | None
    size: sizes.TubeSize | None
    inner_mm: float
    outer_mm: float
    radius_mm: float
    least_radius_mm: float | None
    start: End
    end: End
    line: SpaceLine
    drawn: bool

    @property
    def name(self) -> str:
        """For a sentence: "the tube T1", "the tube at P3"."""
        return f"the tube {self.id}" if self.kind == "tube" else f"the tube at {self.id}"

    @property
    def wet_length_mm(self) -> float:
        """From port face to port face along the coolant, mm."""
        return self.line.length + sum(end.height_mm * (2 if end.elbow_deg else 1) for end in (self.start, self.end))

    @property
    def cut_length_mm(self) -> float:
        """Of the tube itself, with what enters its fittings, mm."""
        return self.line.length + self.start.insertion_mm + self.end.insertion_mm

    @property
    def described(self) -> bool:
        """Whether the document says enough of it to be checked: its size, or its corners."""
        return self.size is not None or self.material is not None or self.drawn


def runs(document: Document, shapes: Shapes) -> list[Run]:
    """Every tube of the document in the order of their ids: drops from ports of the plate, then tubes of their own."""
    return [*drops(document, shapes), *between_devices(document, shapes)]


class Places:
    """The device ports of a document, with which way each one points; worked out once for many tubes."""

    def __init__(self, document: Document, shapes: Shapes) -> None:
        self._shapes = shapes
        self._devices = {device.id: device for device in document.devices}
        self._plans: dict[str, Vector] = {}

    def device(self, ref: str) -> Device:
        """The device of a device port."""
        return self._devices[ref.split(".", 1)[0]]

    def end(self, ref: str) -> tuple[str, Vector, Vector | None]:
        """A device port's reference, its place (3,) and its axis out of the device; none when nothing says it."""
        place = self._shapes.device_ports[ref]
        device_id, port_id = ref.split(".", 1)
        device = self._devices[device_id]
        port = next(p for p in device.ports if p.id == port_id)
        axes = self._shapes.frames[device_id].axes
        at = np.array([place.x, place.y, place.z])
        if port.heading is not None:
            return ref, at, axes[:, "uvw".index(port.heading[0])] * (1.0 if port.heading[1] == "+" else -1.0)
        return ref, at, self._nearest_side(device, axes, (port.u_mm, port.v_mm, port.w_mm))

    def _nearest_side(self, device: Device, axes: Vector, place: tuple[float, float, float]) -> Vector | None:
        """Out of the one side of the device's body that a port lies on; none when it lies on none, or on an edge."""
        if device.outline is None:
            return None
        if device.id not in self._plans:
            plan = np.array(contour(device.outline).path.points(1.0))
            self._plans[device.id] = np.array([[*plan.min(axis=0), 0.0], [*plan.max(axis=0), device.height_mm]])
        found = [
            axes[:, axis] * sign
            for sign, sides in zip((-1.0, 1.0), self._plans[device.id], strict=True)
            for axis in range(3)
            if math.isclose(place[axis], sides[axis], abs_tol=_AT_SIDE_MM)
        ]
        return found[0] if len(found) == 1 else None


_runs: Remembered[Run] = Remembered()


def _stands(shapes: Shapes, ref: str) -> tuple[float | bytes, ...]:
    """Where a device port is, and which way its device stands."""
    place = shapes.device_ports[ref]
    return place.x, place.y, place.z, shapes.frames[place.device].axes.tobytes()


def drops(document: Document, shapes: Shapes) -> Iterator[Run]:
    """The tubes that go from a port of the plate to the device port it serves."""
    places = Places(document, shapes)
    ports = {port.id: port for port in document.ports}
    for port_id in sorted(ports):
        port = ports[port_id]
        if port.serves is None or port.serves not in shapes.device_ports:
            continue
        parts = (port, shapes.ports[port_id], places.device(port.serves), document.loop, document.plate)
        stand = (*_stands(shapes, port.serves), gasket_mm(document))
        yield _runs.of(parts, stand, partial(_drop, document, shapes, places, port, port.serves))


def _drop(document: Document, shapes: Shapes, places: Places, port: Port, serves: str) -> Run:
    course, start = port.tube or Course(), _plate_end(document, shapes, port)
    return _run(document, places, port.id, "drop", course, start, serves)


def between_devices(document: Document, shapes: Shapes) -> Iterator[Run]:
    """The tubes that do not pass through the plate."""
    places = Places(document, shapes)
    for tube in sorted(document.loop.tubes, key=lambda tube: tube.id):
        parts = (tube, places.device(tube.start), places.device(tube.end), document.loop)
        stand = (*_stands(shapes, tube.start), *_stands(shapes, tube.end))
        yield _runs.of(parts, stand, partial(_between, document, places, tube))


def _between(document: Document, places: Places, tube: Tube) -> Run:
    return _run(document, places, tube.id, "tube", tube, places.end(tube.start), tube.end)


def tube_size(document: Document, course: Course) -> sizes.TubeSize | None:
    """The table's row that a course names, or the loop's; none when there is none of that name."""
    name = course.size or document.loop.tube_size
    try:
        return sizes.size(name) if name is not None else None
    except UnknownEntry:
        return None


def _material(course: Course, size: sizes.TubeSize | None) -> sizes.TubeMaterial | None:
    if course.material is not None:
        return sizes.material(course.material)
    return size.material if size is not None else None


def _run(
    document: Document,
    places: Places,
    id_: str,
    kind: str,
    course: Course,
    start: tuple[str, Vector, Vector | None],
    to: str,
) -> Run:
    size = tube_size(document, course)
    material = _material(course, size)
    inner = course.inner_diameter_mm or (size.inner_mm if size else document.loop.tube_inner_diameter_mm)
    outer = course.outer_diameter_mm or (size.outer_mm if size else document.loop.tube_outer_diameter_mm)
    least: float | None = None
    if size is not None and (course.material in (None, size.material.name)):
        least = size.radius_mm
    elif material is not None:
        least = material.radius_diameters * outer
    radius = course.bend_radius_mm or least or 3.0 * outer
    first = _end(document, start, course.start_fitting, outer, size)
    target = places.end(to)
    if target[2] is None and first.axis is not None and kind == "drop":
        target = (target[0], target[1], -first.axis)
    last = _end(document, target, course.end_fitting, outer, size)
    line = _line(first, last, course, radius)
    return Run(id_, kind, course, material, size, inner, outer, radius, least, first, last, line, bool(course.points))


def _line(first: End, last: End, course: Course, radius: float) -> SpaceLine:
    """Between the faces at which the tube enters its fittings: off a straight one's height, off an elbow's arm."""
    inner = [np.array([p.x_mm, p.y_mm, p.z_mm]) for p in course.points]
    inner_radii = [radius if p.bend_radius_mm is None else p.bend_radius_mm for p in course.points]
    starts, ends = _risen(first), _risen(last)
    corners = [starts, *inner, ends]
    for end, at, index, towards in ((first, starts, 0, 1), (last, ends, -1, -2)):
        if end.elbow_deg:
            corners[index] = at + end.height_mm * unit(corners[towards] - at)
    return rounded(np.array(corners), [0.0, *inner_radii, 0.0])


def _risen(end: End) -> Vector:
    return end.at if end.axis is None else end.at + end.height_mm * end.axis


def _end(
    document: Document, place: tuple[str, Vector, Vector | None], fitting: Fitting, outer: float,
    size: sizes.TubeSize | None,
) -> End:  # fmt: skip
    ref, at, axis = place
    height = fitting.height_mm
    if height is None:
        height = _ELBOW_DIAMETERS * outer if fitting.kind in ELBOWS else 0.0
    insertion = fitting.insertion_mm
    if insertion is None:
        insertion = size.insertion_mm if size else 0.0
    return End(ref, at, axis, fitting, fitting.bore_mm or document.loop.fitting_bore_mm, height, insertion)


def _plate_end(document: Document, shapes: Shapes, port: Port) -> tuple[str, Vector, Vector]:
    shape = shapes.ports[port.id]
    if shape.heading is not None:
        height, axis = shape.rise, (-shape.heading[0], -shape.heading[1], 0.0)
    else:
        height = shapes.thickness if port.face == "top" else 0.0
        axis = (0.0, 0.0, 1.0 if port.face == "top" else -1.0)
    return port.id, np.array([*shape.at, above_floor_mm(document, height)]), np.array(axis)
