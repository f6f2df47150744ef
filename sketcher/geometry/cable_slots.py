"""A cable's way out of a pocket: a slot from there to a cutout, a floor opening, or over the plate's edge.

The slot is a pocket like any other: milled, drawn and held against everything else as one. Its outline is a round
tool's way along a centreline: from where the whole width fits into the pocket, by its corners if it has any, to where
the whole width fits into what it leads to, or to half a width beyond the edge. It goes the shortest way.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import shapely
from pydantic import ValidationError
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document, with_changes
from sketcher.document.kinds import new_ids
from sketcher.document.outlines import Outline, Slot
from sketcher.document.plate import CableSlot, Pocket
from sketcher.geometry.combining import CombiningError, outline_of
from sketcher.geometry.offset import OffsetError, sides
from sketcher.geometry.path import Path, Point, fillet
from sketcher.geometry.shapes import Shapes, build

#: Ways that are longer than the shortest by no more than this are as short, mm: of these the middle one is taken.
ALIKE_MM = 0.005
#: A slot shorter than this joins what meets already, mm.
_SHORTEST_MM = 0.01


class SlotError(ValueError):
    """There is no such slot; the message says why."""


def width_mm(cable: CableSlot) -> float:
    """The slot's width: the cable and its clearance, mm."""
    return cable.cable_mm + cable.clearance_mm


def ground_of(shapes: Shapes, id_: str | None) -> BaseGeometry | None:
    """The area of a pocket, cutout or opening, made valid; none for the plate's edge, and for what is not there."""
    for areas in (shapes.pockets, shapes.cutouts, shapes.openings):
        if id_ in areas:
            area = areas[id_].polygon
            return area if area.is_valid else shapely.make_valid(area)
    return None


def slot_outline(shapes: Shapes, pocket: Pocket) -> Outline:
    """The outline that a cable slot should have now. Raises ``SlotError`` when there is no way."""
    assert pocket.cable is not None
    places = centreline(shapes, pocket.cable, pocket.face)
    width = width_mm(pocket.cable)
    if len(places) == 2:
        return _straight(places, width)
    # The cable lies round the corners as wide as the slot is.
    path, _ = fillet(places, [width] * len(places))
    return _swept(path, width)


def _straight(places: Sequence[Point], width: float) -> Outline:
    (x, y), (to_x, to_y) = places
    try:
        return Slot(
            x_mm=_micro((x + to_x) / 2),
            y_mm=_micro((y + to_y) / 2),
            length_mm=_micro(math.dist(*places) + width),
            width_mm=width,
            turn_deg=_micro(math.degrees(math.atan2(to_y - y, to_x - x))),
        )
    except ValidationError:
        raise SlotError("it would reach farther than an outline may") from None


def _swept(path: Path, width: float) -> Outline:
    try:
        return outline_of(sides(path, width))
    except (OffsetError, CombiningError) as error:
        raise SlotError(f"its corners are too close together for its width: {error}") from None


def centreline(shapes: Shapes, cable: CableSlot, face: str) -> list[Point]:
    """The slot's centreline, from the pocket to its other end: at least two places, mm. Raises ``SlotError``."""
    half = width_mm(cable) / 2
    start = _room(shapes, cable.start, half)
    onto: BaseGeometry = shapes.plate_polygon.exterior
    if cable.end is not None:
        if cable.end in shapes.openings and face != "bottom":
            raise SlotError(
                f"{cable.end} is under the plate; a slot in the bottom face leads to it, or one to a cutout over it"
            )
        onto = _room(shapes, cable.end, half)
    corners = [(point.x_mm, point.y_mm) for point in cable.points]
    if corners:
        first, _ = _shortest(start, shapely.Point(corners[0]))
        _, last = _shortest(shapely.Point(corners[-1]), onto)
    else:
        first, last = _shortest(start, onto)
    before = corners[-1] if corners else first
    if math.dist(before, last) < _SHORTEST_MM:
        where = cable.end or "the plate's edge"
        raise SlotError(f"{'its last corner' if corners else cable.start} reaches {where} already; no slot is needed")
    return _apart([first, *corners, last if cable.end is not None else _beyond(before, last, half)])


def _apart(places: Sequence[Point]) -> list[Point]:
    """The places without those that lie on the one before."""
    kept = [places[0]]
    kept += [place for before, place in pairwise(places) if math.dist(before, place) > 1e-6]
    return kept


def _beyond(before: Point, last: Point, by: float) -> Point:
    """So much farther in the same direction: what opens at an edge runs over it, so that no corners are left."""
    share = by / math.dist(before, last)
    return (last[0] + (last[0] - before[0]) * share, last[1] + (last[1] - before[1]) * share)


def _room(shapes: Shapes, id_: str, half: float) -> BaseGeometry:
    """Where the middle of the slot may end in an area, so that all its width lies in it."""
    ground = ground_of(shapes, id_)
    if ground is None:
        raise SlotError(f"there is no {id_}")
    room: BaseGeometry = ground.buffer(-half, quad_segs=32)
    if room.is_empty:
        raise SlotError(f"{id_} is narrower than a slot of {2 * half:g} mm")
    return room


def _shortest(one: BaseGeometry, other: BaseGeometry) -> tuple[Point, Point]:
    """Both ends of the shortest way; where many are as short, as between parallel sides, of the middle one."""
    apart = float(shapely.distance(one, other))
    # Round corners are drawn as chords, up to a ten thousandth of the distance too near.
    reach = shapely.buffer(other, apart * 1.0002 + ALIKE_MM, quad_segs=64)
    ways = [way for way in shapely.get_parts(shapely.intersection(one, reach)).tolist() if not way.is_empty]
    place: BaseGeometry = one
    if ways:
        middle = min((way.centroid for way in ways), key=lambda found: (round(found.x, 2), round(found.y, 2)))
        place = shapely.Point(shapely.shortest_line(middle, other).coords[1])
        place = shapely.Point(shapely.shortest_line(one, place).coords[0])
    start, end = shapely.shortest_line(place, other).coords
    return (start[0], start[1]), (end[0], end[1])


def nearest_end(shapes: Shapes, start: str, face: str, width: float) -> str | None:
    """Of cutouts, openings under a slot in the bottom face, and the plate's edge (none) the nearest to a pocket.

    Raises ``SlotError`` when the pocket is too narrow.
    """
    room = _room(shapes, start, width / 2)
    ends: list[str | None] = [None, *shapes.cutouts, *(shapes.openings if face == "bottom" else ())]
    found: list[tuple[float, int]] = []
    for n, end in enumerate(ends):
        try:
            onto = shapes.plate_polygon.exterior if end is None else _room(shapes, end, width / 2)
        except SlotError:
            continue
        apart = float(shapely.distance(room, onto))
        if apart >= _SHORTEST_MM:
            found.append((apart, n))
    return ends[min(found)[1]] if found else None


def made_slot(
    document: Document, start: str, end: str | None, cable_mm: float, clearance_mm: float, nearest: bool = False
) -> tuple[Document, str]:
    """A document with a new slot for a cable out of a pocket, and the slot's id. ``nearest``: to the nearest end.

    It lies in the pocket's face, as deep as the pocket, or as the cable is thick where that is more. Raises
    ``SlotError``.
    """
    shapes = build(document)
    pocket = next((pocket for pocket in document.pockets if pocket.id == start), None)
    if pocket is None or pocket.cable is not None:
        raise SlotError(f"a cable leaves a pocket; {start} is none")
    if nearest:
        end = nearest_end(shapes, start, pocket.face, cable_mm + clearance_mm)
    cable = CableSlot(start=start, end=end, cable_mm=cable_mm, clearance_mm=clearance_mm)
    id_ = next(new_ids(document, "pocket"))
    slot = Pocket(
        id=id_,
        name=(f"cable {pocket.name}" if pocket.name else f"cable of {start}")[:120],
        outline=pocket.outline,
        depth_mm=max(pocket.depth_mm, cable_mm),
        face=pocket.face,
        must_stay_dry=pocket.must_stay_dry,
        cable=cable,
    )
    slot = slot.model_copy(update={"outline": slot_outline(shapes, slot)})
    return with_changes(document, pockets=(*document.pockets, slot)), id_


def _micro(value: float) -> float:
    return round(value, 6) + 0.0


__all__ = ["SlotError", "centreline", "ground_of", "made_slot", "nearest_end", "slot_outline", "width_mm"]
