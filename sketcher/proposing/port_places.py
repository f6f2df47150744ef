"""Ports under all tubes: each moved below the device port it serves, off what is in the way by least, by the rules.

A tube drops straight, so a port's best place is right under it. Where the rules find an error there, places around it
are tried in rings, the nearest first; where the plate has none, or the drop falls beside the plate, the port is turned
to the nearest edge that clears. Nothing is judged here: a place clears when the rules that ``check`` runs find no error
about the port.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import shapely

from sketcher.checks import run
from sketcher.document import Document, with_changes
from sketcher.document.kinds import new_ids
from sketcher.document.plate import Channel, Port
from sketcher.geometry import Shapes, build
from sketcher.geometry.path import Point
from sketcher.geometry.shapes import DevicePortPlace

#: Rings of places around the drop, mm, and how many places each has.
_RINGS_MM = (0.0, *(float(k) for k in range(1, 9)), *(float(k) for k in range(10, 42, 2)))
_DIRECTIONS = 12
#: Places along an edge are this far apart, mm.
_ALONG_MM = 4.0
#: The rules run at so many places on a face, and at so many along the edges, for one port at the most.
_MOST_JUDGED = 100
#: A port that stands this near under its tube stays, mm: nobody mills a micrometre.
_THERE_MM = 0.005
#: Errors that a place cannot help, for no channel is there yet.
_NOT_OF_PLACES = ("connection-open", "port-unreached", "drop-out-of-line")

Face = Literal["top", "bottom", "edge"]


@dataclass(frozen=True)
class PortMove:
    """A port brought to its tube: how far it was moved, how far beside the drop it now stands, its face, and whether
    it is new or was turned; ``why`` says what stood right under the tube."""

    port: str
    serves: str
    dx_mm: float
    dy_mm: float
    off_mm: float
    face: Face
    turned: bool
    new: bool
    why: str = ""


@dataclass(frozen=True)
class Left:
    """A port that was left where it is, with the reason."""

    port: str
    why: str


@dataclass(frozen=True)
class UnderTubes:
    """The document with its ports under the tubes; what was moved, what was left; channels that now end elsewhere."""

    document: Document
    moves: tuple[PortMove, ...]
    left: tuple[Left, ...]
    channels: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The answer as plain data, without the document."""
        return {
            "moves": [
                {**vars(move), **{key: round(getattr(move, key), 3) for key in ("dx_mm", "dy_mm", "off_mm")}}
                for move in self.moves
            ],
            "left": [vars(one) for one in self.left],
            "channels": list(self.channels),
        }


@dataclass(frozen=True)
class _Place:
    """Where a port could go: a place, a face, and how far beside the drop it is."""

    x: float
    y: float
    face: Face
    off: float


def ports_under_tubes(document: Document, *, add: bool = True) -> UnderTubes:
    """Bring every port to the tube that drops to it.

    Args:
        document: the plate.
        add: whether device ports that nothing serves, and no tube joins to another device, get a port.

    A locked port stays. Channels that end at a moved port and are not locked are not held against its new place: they
    are to be laid again.
    """
    shapes = build(document)
    places = shapes.device_ports
    start = _with_new(document, shapes) if add else document
    added = {port.id for port in start.ports} - {port.id for port in document.ports}
    # A port in an edge whose tube comes down beside the plate is where such a tube ends: nothing is under it.
    wanted = [
        port
        for port in start.ports
        if port.serves in places
        and port.use == "loop"
        and (port.face != "edge" or _over(shapes, places[port.serves or ""]))
    ]
    left = [Left(port.id, "it is locked") for port in wanted if port.locked and _off(port, places) > _THERE_MM]
    wanted = [port for port in wanted if not port.locked]
    bare = _without_channels(start, {port.id for port in wanted})
    # First all of them right under their tubes; most clear there, and the rest is found one after the other.
    first = {port.id: _under(port, places[port.serves or ""], start, shapes) for port in wanted}
    ordered = sorted(wanted, key=lambda port: port.id in added)
    placed = {port.id: place for port in ordered if (place := first[port.id]) is not None}
    found = _troubles(_at(bare, placed, gone=[id_ for id_ in added if id_ not in placed]), list(placed))
    whys: dict[str, str] = {}
    for port in sorted(ordered, key=lambda port: (first[port.id] is None, port.id in added)):
        if port.id in placed and not found.get(port.id):
            continue
        whys[port.id] = next(iter(found.get(port.id, ())), "The tube comes down beside the plate.")
        placed.pop(port.id, None)
        gone = [id_ for id_ in added if id_ not in placed and id_ != port.id]
        place = _cleared(bare, placed, gone, port, places[port.serves or ""], shapes)
        if place is not None:
            placed[port.id] = place
            found = _troubles(_at(bare, placed, gone=gone), list(placed))
        elif port.id not in added:
            left.append(Left(port.id, f"no place within {_RINGS_MM[-1]:g} mm clears. {whys[port.id]}"))
        else:
            left.append(Left(port.id, f"no place for a port under {port.serves} clears. {whys[port.id]}"))
    new = _at(start, placed, gone=[id_ for id_ in added if id_ not in placed])
    moves = tuple(
        _move(port, placed[port.id], port.id in added, whys.get(port.id, ""))
        for port in wanted
        if port.id in placed and (port.id in added or _moved(port, placed[port.id]))
    )
    moved = {move.port for move in moves}
    channels = tuple(c.id for c in document.channels if {c.start, c.end} & moved)
    return UnderTubes(new if moves else document, moves, tuple(left), channels)


def in_words(done: UnderTubes) -> Iterator[str]:
    """What was done, in lines."""
    if not done.moves:
        yield "Every port stands under its tube already." if not done.left else "No port was moved."
    for move in done.moves:
        what = f"{move.port} is new" if move.new else f"{move.port} moved by {move.dx_mm:+.1f}, {move.dy_mm:+.1f} mm"
        turned = f", now in {'an edge' if move.face == 'edge' else f'the {move.face} face'}" if move.turned else ""
        off = f", {move.off_mm:.1f} mm beside its tube" if move.off_mm > _THERE_MM else ", right under its tube"
        yield f"{what}{turned}{off}. {move.why}".rstrip()
    for one in done.left:
        yield f"{one.port} was left: {one.why}"
    if done.channels:
        yield f"{', '.join(done.channels)} end at moved ports: they have to be laid again."


def _with_new(document: Document, shapes: Shapes) -> Document:
    """The document with a port under each device port that has none and is joined to no other device by a tube."""
    served = {port.serves for port in document.ports}
    tubed = {end for tube in document.loop.tubes for end in (tube.start, tube.end)}
    missing = [ref for ref in shapes.device_ports if ref not in served and ref not in tubed]
    like = next((port for port in document.ports if port.use == "loop"), None)
    update = (
        {}
        if like is None
        else {key: getattr(like, key) for key in ("thread", "thread_depth_mm", "fitting_diameter_mm")}
    )
    ports = [
        Port(id=id_, x_mm=round(place.x, 3), y_mm=round(place.y, 3), serves=ref, **update)
        for ref, id_ in zip(missing, new_ids(document, "port"), strict=False)
        for place in [shapes.device_ports[ref]]
    ]
    return with_changes(document, ports=(*document.ports, *ports)) if ports else document


def _off(port: Port, places: dict[str, DevicePortPlace]) -> float:
    place = places[port.serves or ""]
    return math.hypot(place.x - port.x_mm, place.y - port.y_mm)


def _under(port: Port, place: DevicePortPlace, document: Document, shapes: Shapes) -> _Place | None:
    """Right under the tube, when the plate is there: on top, or from below for what hangs under the plate."""
    if not _over(shapes, place):
        return None
    face: Face = "bottom" if place.z < document.plate.z_mm else "top"
    if port.face == face and _near(port, place):
        return _Place(port.x_mm, port.y_mm, face, math.hypot(place.x - port.x_mm, place.y - port.y_mm))
    return _Place(place.x, place.y, face, 0.0)


def _over(shapes: Shapes, place: DevicePortPlace) -> bool:
    return bool(shapely.contains_xy(shapes.plate_polygon, place.x, place.y))


def _near(port: Port, place: DevicePortPlace) -> bool:
    return math.hypot(place.x - port.x_mm, place.y - port.y_mm) <= _THERE_MM


def _without_channels(document: Document, ports: set[str]) -> Document:
    """The plate without the channels that are laid again once their ports have moved."""

    def stays(channel: Channel) -> bool:
        return channel.locked or not {channel.start, channel.end} & ports

    return with_changes(document, channels=tuple(channel for channel in document.channels if stays(channel)))


def _at(document: Document, placed: dict[str, _Place], gone: Sequence[str] | set[str] = ()) -> Document:
    """The document with ports at their places."""
    ports = []
    for port in document.ports:
        place = placed.get(port.id)
        if port.id in gone:
            continue
        if place is None:
            ports.append(port)
            continue
        update: dict[str, Any] = {"x_mm": round(place.x, 3) + 0.0, "y_mm": round(place.y, 3) + 0.0, "face": place.face}
        if place.face != port.face:
            update |= {"heading_deg": None, "level_mm": None, "bore_depth_mm": None}
        ports.append(port.model_copy(update=update))
    return with_changes(document, ports=tuple(ports))


def _troubles(document: Document, ports: Sequence[str]) -> dict[str, list[str]]:
    """Errors of the quick rules that are about each of some ports, in words."""
    found: dict[str, list[str]] = {}
    for finding in run(document, quick=True, fixes=False, loop=False):
        if not finding.open_error or finding.rule in _NOT_OF_PLACES:
            continue
        about = {*finding.items, *(id_ for listed in finding.listed for id_ in listed.items)}
        for id_ in about & set(ports):
            found.setdefault(id_, []).append(finding.message)
    return found


def _cleared(
    document: Document,
    placed: dict[str, _Place],
    gone: Sequence[str],
    port: Port,
    drop: DevicePortPlace,
    shapes: Shapes,
) -> _Place | None:
    """The place nearest to the drop at which the rules find no error about the port."""
    now = _at(document, placed, gone)
    others = [((one.x_mm, one.y_mm), one.fitting_diameter_mm / 2) for one in now.ports if one.id != port.id]
    for place in _worth_trying(document, port, drop, shapes, others):
        trial = _at(document, {**placed, port.id: place}, gone)
        if not _troubles(trial, [port.id]):
            return place
    return None


def _worth_trying(
    document: Document,
    port: Port,
    drop: DevicePortPlace,
    shapes: Shapes,
    others: Sequence[tuple[Point, float]],
) -> Iterator[_Place]:
    """Places around the drop and along the edges, the nearest first, without those that plainly do not clear.

    The plain test only spares the rules work: it asks less than they do.
    """
    face: Face = "bottom" if drop.z < document.plate.z_mm else "top"
    own = shapes.ports.get(port.id)
    thread, fitting = (own.thread_diameter / 2, port.fitting_diameter_mm / 2) if own else (6.0, 10.0)
    areas = [area.polygon for group in (shapes.cutouts, shapes.pockets, shapes.keep_outs) for area in group.values()]
    shut = shapely.union_all(
        [
            *(shapely.buffer(shapely.make_valid(area), thread) for area in areas),
            *(shapely.Point(hole.item.x_mm, hole.item.y_mm).buffer(thread) for hole in shapes.holes.values()),
        ]
    )
    room = shapely.difference(shapely.buffer(shapely.make_valid(shapes.plate_polygon), -thread), shut)
    shapely.prepare(room)
    tops = [
        _Place(x, y, face, radius)
        for radius in _RINGS_MM
        for turn in range(_DIRECTIONS if radius else 1)
        for angle in [2 * math.pi * turn / _DIRECTIONS]
        for x, y in [(drop.x + radius * math.cos(angle), drop.y + radius * math.sin(angle))]
        if shapely.contains_xy(room, x, y)
        and all(math.dist((x, y), place) > max(fitting, other) for place, other in others)
    ]
    border = shapes.plate_polygon.exterior
    along = [k * _ALONG_MM for k in range(int(border.length / _ALONG_MM))]
    along.append(float(border.project(shapely.Point(drop.x, drop.y))))
    edges = [
        _Place(x, y, "edge", math.dist((x, y), (drop.x, drop.y)))
        for x, y in (border.interpolate(at).coords[0] for at in along)
    ]
    edges = sorted(edges, key=lambda place: place.off)[:_MOST_JUDGED]
    if _over(shapes, drop):
        # A tube that comes down over the plate goes to an edge only when no face has a place, and only near by.
        yield from tops[:_MOST_JUDGED]
        yield from (place for place in edges if place.off <= _RINGS_MM[-1])
    else:
        yield from sorted([*edges, *tops[:_MOST_JUDGED]], key=lambda place: place.off)


def _moved(port: Port, place: _Place) -> bool:
    return math.hypot(place.x - port.x_mm, place.y - port.y_mm) > _THERE_MM or place.face != port.face


def _move(port: Port, place: _Place, new: bool, why: str) -> PortMove:
    return PortMove(
        port=port.id,
        serves=port.serves or "",
        dx_mm=place.x - port.x_mm,
        dy_mm=place.y - port.y_mm,
        off_mm=place.off,
        face=place.face,
        turned=not new and place.face != port.face,
        new=new,
        why=why if place.off > _THERE_MM or place.face == "edge" else "",
    )
