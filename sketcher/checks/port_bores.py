"""Does it hold, does it flow: a port's bore meets its channel, wide enough, and goes no farther."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from sketcher.checks.each import troubled
from sketcher.checks.floors import FLOORS, floors
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.checks.walls import SHEET, thin_walls
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Cause, Change, Finding, Fix, Point, Rule, mm, ways
from sketcher.geometry.levels import body_heights, channel_heights, tolerances_mm
from sketcher.geometry.ports import BORE_OVERLAP_MM, PortShape, deepest_at_ports
from sketcher.geometry.prisms import point_mm


@dataclass(frozen=True)
class Meeting:
    """How far a bore goes into its channel, and what it leaves of the body beyond: as drawn and at the worst, mm."""

    port: PortShape
    depth: float
    overlap: float
    overlap_thickest: float
    left: float
    left_thinnest: float


def meetings(scene: Scene) -> list[Meeting]:
    """Every port that a channel reaches, with its deepest channel; worked out once."""
    return scene.once(_listed_meetings)


_known: Remembered[Meeting] = Remembered()


def _listed_meetings(scene: Scene) -> list[Meeting]:
    document, ports = scene.document, scene.shapes.ports
    reached = [(ports[id_], depth) for id_, depth in deepest_at_ports(document).items() if id_ in ports]
    rows = [((port, document.plate, *scene.channels_at[port.item.id]), depth) for port, depth in reached]
    return _known.all(rows, lambda new: [_meeting(scene, *reached[n]) for n in new])


def _meeting(scene: Scene, port: PortShape, depth: float) -> Meeting:
    document = scene.document
    tolerance, lid_tolerance = tolerances_mm(document)
    body = body_heights(document)
    low, high = channel_heights(document, depth)
    half = port.bore_diameter / 2
    if port.heading is not None:
        overlap = min(high, port.rise + half) - max(low, port.rise - half)
        left = min(port.rise - half - body[0], body[1] - port.rise - half)
        return Meeting(port, depth, overlap, overlap, left, left)
    given = port.item.bore_depth_mm
    if port.item.face == document.plate.lid_face:
        # The bore of a port on the lid opens straight into the channel as soon as it is through the lid.
        through = math.inf if given is None else given - document.plate.lid_thickness_mm
        overlap = depth if through >= 0 else through
        thickest = depth if through - lid_tolerance >= 0 else through - lid_tolerance
        body_left = document.plate.body_thickness_mm - max(min(through, 1e6), 0.0) if given is not None else math.inf
        return Meeting(port, depth, overlap, thickest, body_left, body_left - lid_tolerance)
    # Inside the channel's width the drill's point runs out into the open; beside it, it cuts on towards the joint.
    beside = max(half - _width(scene, port.item.id) / 2, 0.0) if port.item.drill_end == "point" else 0.0
    further = point_mm(2 * beside)
    if port.item.face == "top":
        overlap, left = high - port.rise, port.rise - further - body[0]
    else:
        overlap, left = port.rise - low, body[1] - port.rise - further
    moves = tolerance if given is not None else 0.0
    return Meeting(port, depth, overlap, overlap - moves, left, left - moves)


def _width(scene: Scene, port: str) -> float:
    """The width of the widest channel at a port, mm."""
    return max(channel.item.width_mm for channel in scene.channels_at[port])


@rules(
    Rule("bore-meets", "flows", "A port's bore reaches into its channel", BORE_OVERLAP_MM, "mm",
         "A bore that only touches its channel leaves a skin when the sheet is a little thicker, and nothing flows.",
         PRACTICE),
    Rule("bore-through", "holds", "A port's bore goes no farther than its channel's open side", 0.0, "mm",
         "A bore that comes out at the joint spoils the sealing face, and one that leaves the body leaks.", PRACTICE),
    Rule("port-opening", "flows", "The way from bore to channel, of the smaller one's section", 35.0, "%",
         "Coolant that has to squeeze through a slit between bore and channel loses its pressure there.", PRACTICE),
    named=True,
)  # fmt: skip
def bores(scene: Scene) -> Iterator[Finding]:
    """Bores against the channels that they serve, as drawn."""
    least, most, opening = scene.limit("bore-meets"), scene.limit("bore-through"), scene.limit("port-opening")
    met = meetings(scene)
    rows = [((meeting, *scene.channels_at[meeting.port.item.id]), (least, most, opening)) for meeting in met]
    yield from troubled(_sound, rows, lambda n: _bore(scene, met[n], least, most, opening))


_sound: Remembered[bool] = Remembered()


def _bore(scene: Scene, meeting: Meeting, least: float, most: float, opening: float) -> Iterator[Finding]:
    item, at = meeting.port.item, meeting.port.at
    if meeting.overlap < least - 1e-9:
        yield _too_short(scene, meeting, least)
    elif (share := _opening(scene, meeting)) < opening - 1e-9:
        yield Finding(
            rule="port-opening",
            level="warning",
            items=(item.id,),
            value=share,
            limit=opening,
            unit="%",
            at=at,
            message=f"The bore of {item.id} opens into its channel over {share:.0f} % of the smaller section; "
            f"{opening:g} % is the minimum.",
            remedy="Make the channel deeper, or set the port's axis nearer to the lid."
            if meeting.port.heading is not None
            else "Make the bore or the channel wider.",
        )
    if meeting.left < most - 1e-9:
        yield Finding(
            rule="bore-through",
            level="error",
            items=(item.id,),
            value=meeting.left,
            limit=most,
            unit="mm",
            at=at,
            message=f"The bore of {item.id} goes {mm(-meeting.left)} beyond the body, drill point included."
            if meeting.left < 0
            else f"The bore of {item.id} leaves {mm(meeting.left)}; {mm(most)} is the minimum.",
            remedy="Clear its bore depth, so that it ends in its channel, or have it milled flat."
            if item.bore_depth_mm is not None
            else "Have the bore's end milled flat, or make the channel deeper.",
            **ways(*_less_far(scene, meeting, most - meeting.left)),
        )


def _less_far(scene: Scene, meeting: Meeting, missing: float) -> Iterator[Fix | None]:
    """A bore that goes too far: less deep where its depth is given, else milled flat."""
    item = meeting.port.item
    _, index = scene.numbers[item.id]
    if item.bore_depth_mm is not None and meeting.port.heading is None:
        yield Fix(f"Let the bore of {item.id} end in its channel", (Change(f"/ports/{index}/bore_depth_mm", None),))
    if item.drill_end == "point":
        yield Fix(f"Have the bore of {item.id} milled flat", (Change(f"/ports/{index}/drill_end", "flat"),))


def _too_short(scene: Scene, meeting: Meeting, least: float) -> Finding:
    item, missing = meeting.port.item, least - meeting.overlap
    fix: Fix | None = None
    others: list[Fix] = []
    _, index = scene.numbers[item.id]
    if meeting.port.heading is not None:
        mine = [k for k, c in enumerate(scene.document.channels)
                if item.id in (c.start, c.end) and c.depth_mm == meeting.depth]  # fmt: skip
        deeper = [(k, round(meeting.depth + missing + 0.005, 2)) for k in mine]
        remedy = f"Make its channel {mm(deeper[0][1])} deep, or set the port's axis {mm(missing)} nearer to the lid."
        changes = tuple(Change(f"/channels/{k}/depth_mm", depth) for k, depth in deeper)
        fix = Fix(f"Make the channel at {item.id} {mm(deeper[0][1])} deep", changes)
        nearer = -1.0 if scene.document.plate.lid_face == "bottom" else 1.0
        # Just far enough leaves a slit, through which too little flows: farther, when that is found.
        for more in (0.0, 1.0, 2.0, 3.0):
            level = round(meeting.port.rise + nearer * (missing + 0.005 + more), 2)
            deep = round(meeting.depth + missing + 0.005 + more, 2)
            others += [
                Fix(f"Set {item.id} to {mm(level)} above the underside", (Change(f"/ports/{index}/level_mm", level),)),
                Fix(f"Make the channel at {item.id} {mm(deep)} deep",
                    tuple(Change(f"/channels/{k}/depth_mm", deep) for k in mine)),
            ]  # fmt: skip
    elif item.bore_depth_mm is not None:
        # Deep enough for the thickest sheet too.
        best = round(item.bore_depth_mm + least - min(meeting.overlap, meeting.overlap_thickest) + 0.0005, 3)
        remedy = f"Drill it {mm(best)} deep, or clear its bore depth."
        fix = Fix(f"Drill {item.id} {mm(best)} deep", (Change(f"/ports/{index}/bore_depth_mm", best),))
    else:
        remedy = f"Make its channel deeper than {mm(least)}."
    return Finding(
        rule="bore-meets",
        level="error",
        items=(item.id,),
        value=meeting.overlap,
        limit=least,
        unit="mm",
        at=meeting.port.at,
        message=f"The bore of {item.id} ends {mm(-meeting.overlap)} before its channel."
        if meeting.overlap < 0
        else f"The bore of {item.id} reaches {mm(meeting.overlap)} into its channel; {mm(least)} is the minimum.",
        remedy=remedy,
        # Ports that miss by the same do so for the same reason: a thicker sheet, a shallower channel.
        cause=Cause(
            f"{meeting.overlap:.3f}",
            f"The bores of {{count}} ports end {mm(-meeting.overlap)} before their channels."
            if meeting.overlap < 0
            else f"The bores of {{count}} ports reach {mm(meeting.overlap)} into their channels; {mm(least)} is the "
            "minimum.",
            "Make their channels deeper, or set the ports' axes nearer to the lid."
            if meeting.port.heading is not None
            else "Drill them deeper, or clear their bore depths.",
        ),
        **ways(fix, *others),
    )


def _opening(scene: Scene, meeting: Meeting) -> float:
    """The way from a bore into its channels, in per cent of the smaller of the two sections.

    For an edge port the part of the bore's circle at the channel's height; for the others what the bore's disc has in
    common with the plan of the widest channel, which ends round below its middle.
    """
    port, radius = meeting.port, meeting.port.bore_diameter / 2
    channels = scene.channels_at[port.item.id]
    section = min(math.pi * radius**2, max(c.item.width_mm * c.item.depth_mm for c in channels))
    if port.heading is not None:
        low, high = channel_heights(scene.document, meeting.depth)
        area = _band(radius, low - port.rise, high - port.rise)
    else:
        half = min(_width(scene, port.item.id) / 2, radius)
        area = math.pi * half**2 / 2 + _band(radius, -half, half) / 2
    return 100 * area / section


def _band(radius: float, low: float, high: float) -> float:
    """Area of a circle between two heights from its centre, mm²."""

    def below(height: float) -> float:
        h = max(-radius, min(radius, height))
        return h * math.sqrt(radius**2 - h**2) + radius**2 * math.asin(h / radius)

    return below(high) - below(low)


@rules(SHEET, named=True)
def sheets(scene: Scene) -> Iterator[Finding]:
    """What holds as drawn, but not for every thickness that the sheets may have: one finding for each sheet."""
    for items, value, limit, at, words in _not_over_tolerance(scene):
        yield over_the_sheet(scene, items, (value, limit), at, words)


def over_the_sheet(
    scene: Scene, items: tuple[str, ...], value: tuple[float, float], at: Point | None, words: str
) -> Finding:
    """What holds as drawn but not for every thickness of the sheets; ``value``: the least of it, and its limit, mm."""
    document = scene.document
    body, lid = tolerances_mm(document)
    plate = document.plate
    tell = (
        f"The body's sheet may be {mm(plate.body_thickness_mm - body)} to {mm(plate.body_thickness_mm + body)} thick, "
        f"the lid's {mm(plate.lid_thickness_mm - lid)} to {mm(plate.lid_thickness_mm + lid)}"
    )
    remedy = (
        "Measure the sheets first and type in what they are, or have them faced to size; then check again."
        if "nominal" in (plate.body_thickness_is, plate.lid_thickness_is)
        else "Leave more, or use thicker sheet."
    )
    return Finding(
        rule="sheet-thickness",
        level="warning",
        items=items,
        value=value[0],
        limit=value[1],
        unit="mm",
        at=at,
        message=f"{tell}: {words} would be {mm(value[0])}; {mm(value[1])} is the minimum.",
        remedy=remedy,
        cause=Cause("sheet", tell + ": {count} places hold as drawn but not for all of these thicknesses.", remedy),
    )


def _not_over_tolerance(scene: Scene) -> Iterator[tuple[tuple[str, ...], float, float, Point | None, str]]:
    for left in floors(scene):
        limit = scene.limit(FLOORS[left.family].name)
        if left.value >= limit - 1e-9 and left.thinnest < limit - 1e-9:
            yield (left.id,), left.thinnest, limit, left.at, f"what the {left.words} leaves"
    for items, value, limit, at in thin_walls(scene):
        yield items, value, limit, at, f"the wall between {items[0]} and {items[1]}"
    meets, through = scene.limit("bore-meets"), scene.limit("bore-through")
    for meeting in meetings(scene):
        id_, at = meeting.port.item.id, meeting.port.at
        if meeting.overlap >= meets - 1e-9 and meeting.overlap_thickest < meets - 1e-9:
            yield (id_,), meeting.overlap_thickest, meets, at, f"the overlap of {id_}'s bore with its channel"
        if meeting.left >= through - 1e-9 and meeting.left_thinnest < through - 1e-9:
            yield (id_,), meeting.left_thinnest, through, at, f"what {id_}'s bore leaves"
    yield from _thin_beside_threads(scene)


def _thin_beside_threads(scene: Scene) -> Iterator[tuple[tuple[str, ...], float, float, Point | None, str]]:
    """Edge ports on the thinnest body, whose outer face comes nearer to them, and threads in the thinnest lid."""
    document, (body, lid) = scene.document, tolerances_mm(scene.document)
    low, high = body_heights(document)
    beside, through = scene.limit("edge-port-thickness"), scene.limit("thread-in-lid")
    for id_, port in scene.shapes.ports.items():
        half = port.thread_diameter / 2
        if port.heading is not None:
            below, above = port.rise - half - low, high - port.rise - half
            outer, joint = (above, below) if document.plate.lid_face == "bottom" else (below, above)
            if min(outer, joint) >= beside - 1e-9 and outer - body < beside - 1e-9:
                yield (id_,), outer - body, beside, port.at, f"what the edge port {id_} leaves of the body beside it"
        elif port.thread is not None and port.item.face == document.plate.lid_face:
            left = document.plate.lid_thickness_mm - port.item.thread_depth_mm
            if left >= through - 1e-9 and left - lid < through - 1e-9:
                yield (id_,), left - lid, through, port.at, f"what the thread of {id_} leaves of the lid"
