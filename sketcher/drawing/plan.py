"""The plan: the plate over its floor, seen from above, as SVG in mm.

The SVG's user unit is the mm. Its y runs down, the document's to the rear: one group, ``g.plan``, turns y over, and
nothing else does. Every layer is a ``g.layer`` with ``data-layer``; every item in it is a ``g.item`` with ``data-id``
and ``data-kind``, whose children carry classes only.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import svgwrite
from svgwrite.container import Group

from sketcher.document.plate import Branch, Port
from sketcher.document.remembered import Remembered
from sketcher.drawing import marks
from sketcher.drawing.marks import number_of
from sketcher.drawing.palette import style_sheet
from sketcher.drawing.plan_dimensions import dimension_groups
from sketcher.drawing.seal_bands import rooms
from sketcher.drawing.tube_courses import tube_group
from sketcher.geometry import Shapes
from sketcher.geometry.measured_spans import Measured, dimensions
from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import Point, from_vertices
from sketcher.geometry.shapes import AreaShape, ChannelShape, DevicePortPlace, HoleShape, PortShape
from sketcher.tubes.runs import Run, runs

#: Layers from the bottom to the top of the drawing.
LAYERS = (
    "floor",
    "survey",
    "plate",
    "pockets",
    "cutouts",
    "keep-outs",
    "room",
    "channels",
    "seal",
    "holes",
    "ports",
    "hardware",
    "tubes",
    "flow",
    "dimensions",
    "findings",
)
#: Room around everything drawn, mm.
MARGIN_MM = 12.0
#: A drop farther out of line than this is drawn, mm.
IN_LINE_MM = 0.05


@dataclass(frozen=True)
class Further:
    """What else may be drawn into the plan, in the form of the JSON answers.

    Attributes:
        findings: the findings, as ``Finding.as_json`` gives them.
        flow: the flow answer; its ``elements`` say which way and how fast each channel runs.
        seal: the seal, as ``SealDesign.as_json`` gives it.
        survey: the survey's answer; its ``points`` carry the spreads.
        ellipse_scale: how many times larger than true the survey's ellipses are drawn.
        room: whether the room that groove and screws need around the coolant is drawn: for work, not for print.
    """

    findings: Sequence[Mapping[str, Any]] = ()
    flow: Mapping[str, Any] | None = None
    seal: Mapping[str, Any] | None = None
    survey: Mapping[str, Any] | None = None
    ellipse_scale: float = 1.0
    room: bool = False


NOTHING = Further()


@dataclass(frozen=True)
class Plan:
    """A drawn plan: its box in mm (left, front, right, rear) and the text of every group in every layer, y to the rear.

    Groups are remembered by what they are drawn from: of a plate on which one thing has moved that one is drawn.
    """

    box: tuple[float, float, float, float]
    layers: tuple[tuple[str, tuple[str, ...]], ...] = field(repr=False)

    def svg(self, alone: bool = True) -> str:
        """The SVG text. One that stands alone carries its own colours."""
        empty, end = svg_of(None, self.box, alone), "</svg>"
        assert empty.endswith(end)
        # Put together at once: of a large plate it is megabytes.
        words = [empty[: -len(end)], '<g class="plan" transform="scale(1 -1)">']
        for name, texts in self.layers:
            words += [f'<g class="layer" data-layer="{name}"', ">" if texts else " />", *texts, "</g>" if texts else ""]
        return "".join([*words, "</g>", end])


def svg_of(root: Group | None, box: tuple[float, float, float, float], alone: bool) -> str:
    """SVG text of a drawing in mm with y (or z) upward, cut to a box: left, low, right, high.

    One that stands ``alone`` carries its own colours and hatches.
    """
    left, low, right, high = box
    width, height = marks.number(right - left), marks.number(high - low)
    drawing = svgwrite.Drawing(
        debug=False,
        size=(f"{width}mm", f"{height}mm"),
        viewBox=f"{marks.number(left)} {marks.number(-high)} {width} {height}",
    )
    if alone:
        for pattern in hatches():
            drawing.defs.add(pattern)
        drawing.defs.add(drawing.style(style_sheet()))
    if root is not None:
        drawing.add(root)
    return str(drawing.tostring())


#: The texts of groups, by what they are drawn from.
_texts: Remembered[str] = Remembered()
#: What a group is drawn from: parts that are known by identity, and plain values; and how it is drawn.
Drawn = tuple[tuple[Any, ...], Hashable, Callable[[], Group]]


def _text(drawn: Drawn) -> str:
    parts, values, make = drawn
    return _texts.of(parts, values, lambda: str(make().tostring()))


def plan(shapes: Shapes, further: Further = NOTHING) -> Plan:
    """The plan of a document's shapes."""
    drawers: dict[str, Iterable[Drawn]] = {
        "floor": _floor(shapes),
        "survey": _survey(further.survey, further.ellipse_scale),
        "plate": _plate(shapes),
        "pockets": (_drawn_area(area, "pocket") for area in shapes.pockets.values()),
        "cutouts": (_drawn_area(area, "cutout") for area in shapes.cutouts.values()),
        "keep-outs": (_drawn_area(area, "keep-out") for area in shapes.keep_outs.values()),
        "channels": _channels(shapes),
        "seal": _seal(further.seal),
        "holes": (((hole,), "hole", partial(_hole, hole)) for hole in shapes.holes.values()),
        "ports": (((port,), "port", partial(_port, port)) for port in shapes.ports.values()),
        "hardware": _hardware(shapes),
        "flow": _flow(shapes, further.flow),
        "dimensions": dimension_groups(dimensions(shapes)),
        "findings": (_drawn_finding(finding) for finding in further.findings if finding.get("at") is not None),
    }
    # What is drawn in pieces of its own, or not at all.
    texts: dict[str, Iterable[str]] = {
        "room": rooms(shapes) if further.room else (),
        "tubes": filter(None, (_runs_text(run) for run in runs(shapes.document, shapes))),
    }
    layers = ((name, tuple(texts[name]) if name in texts else tuple(map(_text, drawers[name]))) for name in LAYERS)
    return Plan(_box(shapes, further.survey), tuple(layers))


def _runs_text(run: Run) -> str:
    def make() -> str:
        group = tube_group(run)
        return "" if group is None else str(group.tostring())

    return _texts.of((run,), "tube", make)


def hatches() -> Iterator[Group]:
    """The two hatches: slanting for dry, crossed for forbidden."""
    for name, strokes in (("dry", ["M0 3L3 0"]), ("forbidden", ["M0 3L3 0", "M0 0L3 3"])):
        pattern = marks.SVG.pattern(
            id=f"hatch-{name}", patternUnits="userSpaceOnUse", size=(3, 3), class_=f"hatch-{name}"
        )
        for stroke in strokes:
            pattern.add(marks.SVG.path(d=stroke, class_=f"hatch-line-{name}"))
        yield pattern


def _box(shapes: Shapes, survey: Mapping[str, Any] | None) -> tuple[float, float, float, float]:
    boxes = [shapes.floor_polygon.bounds, shapes.plate_polygon.bounds]
    boxes += [area.polygon.bounds for group in (shapes.boards, shapes.devices) for area in group.values()]
    boxes += [port.fitting.bounds for port in shapes.ports.values()]
    for one in dimensions(shapes):
        if isinstance(one, Measured):
            xs, ys = zip(one.start, one.end, *one.line, strict=True)
            boxes.append((min(xs), min(ys), max(xs), max(ys)))
    for point in (survey or {}).get("points") or ():
        x, y = number_of(point, "x_mm"), number_of(point, "y_mm")
        if x is not None and y is not None:
            boxes.append((x, y, x, y))
    return (
        min(box[0] for box in boxes) - MARGIN_MM,
        min(box[1] for box in boxes) - MARGIN_MM,
        max(box[2] for box in boxes) + MARGIN_MM,
        max(box[3] for box in boxes) + MARGIN_MM,
    )


def _floor(shapes: Shapes) -> Iterator[Drawn]:
    yield _outline(shapes.floor, "floor")
    for area in shapes.openings.values():
        yield _drawn_area(area, "opening")
    for area in shapes.obstacles.values():
        yield _drawn_area(area, "obstacle", f"{area.low:g}–{area.high:g}" if area.low else f"{area.high:g} high")


def _plate(shapes: Shapes) -> Iterator[Drawn]:
    yield _outline(shapes.plate, "plate")


def _outline(outline: Contour, name: str) -> Drawn:
    return (outline,), name, lambda: marks.item(name, name, [marks.outline(outline, f"{name}-outline")])


def _drawn_area(area: AreaShape, kind: str, height: str = "") -> Drawn:
    return (area,), (kind, height), partial(_area, area, kind, height)


def _area(area: AreaShape, kind: str, height: str) -> Group:
    assert area.contour is not None
    x, y = _middle(area)
    parts = [marks.outline(area.contour, f"{kind} area"), marks.text(area.id, (x, y), "tag middle")]
    if kind == "pocket":
        height = f"{area.high - area.low:g} deep"
    if height:
        parts.append(marks.text(height, (x, y), "height middle"))
    return marks.item(area.id, kind, parts)


def _middle(area: AreaShape) -> Point:
    """A place inside the area for its tag: the middle when it is inside."""
    if area.polygon.is_empty or not area.polygon.is_valid:
        left, front, right, rear = area.polygon.bounds
        return ((left + right) / 2, (front + rear) / 2)
    centre = area.polygon.centroid
    if not area.polygon.contains(centre):
        centre = area.polygon.representative_point()
    return (centre.x, centre.y)


def _channels(shapes: Shapes) -> Iterator[Drawn]:
    widths: dict[str, float] = {}
    for channel in shapes.document.channels:
        for end in (channel.start, channel.end):
            if end is not None:
                widths[end] = max(widths.get(end, 0.0), channel.width_mm)
    for branch in shapes.document.branches:
        radius = widths.get(branch.id, 6.0) / 2
        yield (branch,), ("branch", radius), partial(_branch, branch, radius)
    for id_, shape in shapes.channels.items():
        yield (shape,), "channel", partial(_channel, id_, shape)


def _branch(branch: Branch, radius: float) -> Group:
    at = (branch.x_mm, branch.y_mm)
    parts = [marks.disc(at, radius, "joint"), marks.text(branch.id, (at[0] + radius, at[1] + radius), "tag")]
    return marks.item(branch.id, "branch", parts)


def _channel(id_: str, channel: ChannelShape) -> Group:
    if not channel.path.segments:
        return marks.item(id_, "channel", [])
    data = marks.path_data(channel.path)
    x, y = channel.path.at(channel.length_mm / 2)
    return marks.item(
        id_,
        "channel",
        [
            marks.SVG.path(d=data, class_="bed", stroke_width=marks.number(channel.item.width_mm)),
            marks.area(channel.polygon, "rim"),
            marks.SVG.path(d=data, class_="centreline"),
            marks.text(id_, (x, y), "tag middle"),
            marks.text(f"{channel.item.width_mm:g} × {channel.item.depth_mm:g}", (x, y), "height middle"),
        ],
    )


def _seal(seal: Mapping[str, Any] | None) -> Iterator[Drawn]:
    if not seal:
        return
    width = number_of(seal.get("gland") or {}, "width_mm") or 2.0
    for number, loop in enumerate(seal.get("loops") or (), start=1):
        vertices, joint = tuple(map(tuple, loop["vertices"])), tuple(loop.get("joint") or ())
        yield (), ("seal", number, width, vertices, joint), partial(_groove, number, width, vertices, joint)


def _groove(number: int, width: float, vertices: tuple[tuple[float, ...], ...], joint: tuple[float, ...]) -> Group:
    path = from_vertices([(x, y, bulge) for x, y, bulge in vertices], closed=True)
    data = marks.path_data(path)
    parts = [
        marks.SVG.path(d=data, class_="groove", stroke_width=marks.number(width)),
        marks.SVG.path(d=data, class_="groove-line"),
    ]
    if joint:
        parts.append(marks.disc((joint[0], joint[1]), 1.0, "joint-mark"))
    return marks.item(f"seal-{number}", "groove", parts)


def _hole(hole: HoleShape) -> Group:
    item, radius = hole.item, hole.diameter / 2
    at = (item.x_mm, item.y_mm)
    parts = []
    if hole.head is not None:
        parts.append(marks.area(hole.head.polygon, "head"))
    parts.append(marks.outline(hole.contour, f"hole {item.kind}"))
    # A tapped hole has three quarters of a circle around it, as on any shop drawing.
    if item.kind == "tapped" and hole.screw is not None:
        major = hole.screw.major_mm / 2
        quarter = from_vertices(
            [(at[0] + major, at[1], math.tan(math.radians(270) / 4)), (at[0], at[1] - major, 0)], False
        )
        parts.append(marks.drawn(quarter, "thread-mark"))
    parts.append(_cross(at, radius))
    if item.use != "lid":  # there are dozens of lid screws, all alike: their names would hide the drawing
        parts.append(marks.text(item.id, (at[0] + radius, at[1] + radius), "tag"))
    return marks.item(item.id, "hole", parts)


def _cross(at: Point, radius: float) -> Any:
    x, y, r = at[0], at[1], radius * 0.6
    return marks.SVG.path(
        d=f"M{marks.number(x - r)} {marks.number(y)}H{marks.number(x + r)}"
        f"M{marks.number(x)} {marks.number(y - r)}V{marks.number(y + r)}",
        class_="cross",
    )


def _port(port: PortShape) -> Group:
    item, at = port.item, port.at
    side = "wet" if item.use == "loop" else "service"
    kind = f"fitting {item.face} {side}" + ("" if port.thread else " marker")
    reach = item.fitting_diameter_mm / 2 * math.sqrt(0.5)
    parts: list[Any] = [marks.area(port.fitting, kind) if item.face == "edge" else None]
    if item.face == "edge":
        parts += [marks.area(port.bore_prism.polygon, "bore"), marks.area(port.thread_prism.polygon, "thread edge")]
    else:
        parts = [
            marks.disc(at, item.fitting_diameter_mm / 2, kind),
            marks.disc(at, port.thread_diameter / 2, f"thread {item.face}"),
            marks.disc(at, port.bore_diameter / 2, f"bore {item.face}"),
            _cross(at, port.bore_diameter / 2),
        ]
        if item.face == "bottom":
            parts.append(marks.text("B", at, "letter middle"))
    parts.append(marks.text(item.id, (at[0] + reach, at[1] + reach), "tag"))
    parts.append(marks.text(_size(item), (at[0] + reach, at[1] - reach), "height"))
    # Where channels reach an edge port, and which way it looks: the page needs both while the port is dragged.
    root = f"{marks.number(port.root[0])} {marks.number(port.root[1])}" if port.root != at else None
    return marks.item(item.id, "port", parts, root=root, serves=item.serves, use=item.use)


def _size(port: Port) -> str:
    return f"{port.thread or 'marker'}" + (f" ↓ {port.thread_depth_mm:g}" if port.thread else "")


def _hardware(shapes: Shapes) -> Iterator[Drawn]:
    served = {port.serves: port for port in shapes.document.ports if port.serves is not None}
    names = {item.id: item.name for item in (*shapes.document.boards, *shapes.document.devices)}
    by_device: dict[str, list[Any]] = {}
    for place in shapes.device_ports.values():
        by_device.setdefault(place.device, []).append(place)
    for kind, areas in (("board", shapes.boards), ("device", shapes.devices)):
        for area in areas.values():
            name = names.get(area.id) or area.id
            yield (area,), (kind, name), partial(_body, area, kind, name)
    for device, places in by_device.items():
        ends = tuple((place.x, place.y, _off(place, served.get(place.ref))) for place in places)
        yield (), ("device-ports", device, ends), partial(_device_ports, device, ends)


def _body(area: AreaShape, kind: str, name: str) -> Group:
    parts: list[Any] = [marks.area(area.polygon, f"hardware {kind}")]
    left, _, _, rear = area.polygon.bounds
    parts.append(marks.text(name, (left, rear), "name"))
    parts.append(marks.text(f"{area.low:g}–{area.high:g}", (left, rear), "height below"))
    return marks.item(area.id, kind, parts)


def _off(place: DevicePortPlace, port: Port | None) -> Point | None:
    """Where the port of the plate is that serves a device port, when it is off its drop; none where a tube is drawn."""
    if port is None or (port.tube is not None and port.tube.points):
        return None
    off = math.hypot(port.x_mm - place.x, port.y_mm - place.y) > IN_LINE_MM
    return (port.x_mm, port.y_mm) if off else None


def _device_ports(device: str, ends: tuple[tuple[float, float, Point | None], ...]) -> Group:
    parts: list[Any] = []
    for x, y, to in ends:
        parts.append(_diamond((x, y)))
        if to is not None:
            parts.append(marks.line((x, y), to, "drop"))
    return marks.item(device, "device-ports", parts)


def _diamond(at: Point, size: float = 2.5) -> Any:
    x, y = at
    return marks.SVG.path(
        d=f"M{marks.number(x - size)} {marks.number(y)}L{marks.number(x)} {marks.number(y + size)}"
        f"L{marks.number(x + size)} {marks.number(y)}L{marks.number(x)} {marks.number(y - size)}Z",
        class_="device-port",
    )


def _survey(survey: Mapping[str, Any] | None, scale: float) -> Iterator[Drawn]:
    """The survey's points, each with its 95 % ellipse where the answer gives one."""
    for point in (survey or {}).get("points") or ():
        x, y = number_of(point, "x_mm"), number_of(point, "y_mm")
        if x is None or y is None:
            continue
        ellipse = point.get("ellipse") or {}
        major, minor = number_of(ellipse, "major_mm"), number_of(ellipse, "minor_mm")
        size = None
        if major is not None and minor is not None:
            size = major * scale, minor * scale, number_of(ellipse, "turn_deg") or 0.0
        id_ = str(point["id"])
        yield (), ("survey-point", id_, x, y, size), partial(_survey_point, id_, (x, y), size)


def _survey_point(id_: str, at: Point, size: tuple[float, float, float] | None) -> Group:
    """A survey's point, with half its ellipse's axes as they are drawn (mm) and its turn, degrees."""
    x, y = at
    parts = [_cross(at, 4.0)]
    if size is not None:
        major, minor, turn = size
        parts.append(
            marks.SVG.ellipse(
                center=(0, 0),
                r=(marks.number(major), marks.number(minor)),
                class_="ellipse",
                transform=f"translate({marks.number(x)} {marks.number(y)}) rotate({marks.number(turn)})",
            )
        )
    parts.append(marks.text(id_, (x + 2, y + 2), "tag"))
    return marks.item(id_, "survey-point", parts)


#: Half width and length of a flow arrow, mm.
ARROW_MM = (3.0, 7.0)


def _flow(shapes: Shapes, flow: Mapping[str, Any] | None) -> Iterator[Drawn]:
    """An arrow on every channel that runs, the way the coolant goes."""
    for element in (flow or {}).get("elements") or ():
        channel = shapes.channels.get(str(element.get("id")))
        rate = number_of(element, "flow_l_min")
        if channel is None or rate is None or abs(rate) < 1e-6 or channel.length_mm < 4 * ARROW_MM[1]:
            continue
        told = marks.number(rate)
        yield (channel,), ("flow", rate > 0, told), partial(_arrows, channel, 1 if rate > 0 else -1, told)


def _arrows(channel: ChannelShape, way: int, rate: str) -> Group:
    parts = [_arrow(channel, share, way) for share in _arrow_places(channel.length_mm)]
    return marks.item(channel.item.id, "flow", parts, flow=rate)


def _arrow_places(length: float) -> list[float]:
    count = max(1, round(length / 90))
    # Between the middle, where the tag stands, and the ends.
    return [(i + 0.5) / count + (0.25 / count if count % 2 else 0.0) for i in range(count)]


def _arrow(channel: ChannelShape, share: float, way: int) -> Any:
    half, long = ARROW_MM
    x, y = channel.path.at(share * channel.length_mm)
    ax, ay = channel.path.at(share * channel.length_mm - long / 2)
    bx, by = channel.path.at(share * channel.length_mm + long / 2)
    angle = math.degrees(math.atan2((by - ay) * way, (bx - ax) * way))
    n = marks.number
    return marks.SVG.path(
        d=f"M{n(long / 2)} 0L{n(-long / 2)} {n(half)}L{n(-long / 4)} 0L{n(-long / 2)} {n(-half)}Z",
        class_="arrow",
        transform=f"translate({n(x)} {n(y)}) rotate({n(angle)})",
    )


def _drawn_finding(finding: Mapping[str, Any]) -> Drawn:
    at, rule = tuple(finding["at"]), str(finding.get("rule"))
    level, line = str(finding.get("level", "note")), tuple(map(tuple, finding.get("line") or ()))
    return (), ("finding", at, rule, level, line), partial(_finding, at, rule, level, line)


def _finding(at: Point, rule: str, level: str, line: tuple[Point, ...]) -> Group:
    """The measured distance drawn in, and a mark at the place."""
    x, y = at
    made = marks.group(f"finding {level}", rule=rule, level=level)
    if line:
        made.add(marks.line(line[0], line[1], "distance"))
    n = marks.number
    made.add(marks.SVG.path(d=f"M{n(x)} {n(y)}h0", class_="finding-mark"))
    return made
