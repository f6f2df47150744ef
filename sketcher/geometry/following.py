"""From a thing to the plate: outlines and screw holes that follow what stands in the case.

A cutout, pocket or keep-out with ``follows`` has the outline of a board, device, obstacle or opening as it is seen from
above, grown by a clearance; a screw hole stands where a board's mounting hole falls; a cable slot runs from its pocket
to its other end. The document holds the outlines themselves, so that nothing moves unseen; ``in_step`` works out what
they should be now.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import shapely

from sketcher.document import Document, with_changes
from sketcher.document.kinds import new_ids
from sketcher.document.outlines import Outline
from sketcher.document.plate import Cutout, Follow, Hole, KeepOut, Pocket
from sketcher.geometry.cable_slots import SlotError, slot_outline
from sketcher.geometry.combining import CombiningError, grown, outline_of
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.path import Path, from_vertices
from sketcher.geometry.placement import Frame, board_holes
from sketcher.geometry.shapes import Shapes, build
from sketcher.reference import screws

Area = Literal["cutout", "pocket", "keep-out"]
#: The lists of areas that may follow something, with the kind each holds.
AREAS: dict[str, Area] = {"cutouts": "cutout", "pockets": "pocket", "keep_outs": "keep-out"}
#: Outlines that differ by less than this are in step, mm.
IN_STEP_MM = 0.01
#: Off upright by less than this (sine of the angle) an axis counts as upright.
_UPRIGHT = 1e-9


class FollowingError(ValueError):
    """There is nothing to follow; the message says why."""


def plan_path(shapes: Shapes, id_: str) -> Path:
    """The outline of a thing as it is seen from above, arcs kept where it lies flat.

    Raises ``FollowingError`` for what has no outline in plan.
    """
    for areas in (shapes.obstacles, shapes.openings):
        if id_ in areas:
            outline = areas[id_].contour
            assert outline is not None
            return outline.path
    flat = _flat_outline(shapes, id_)
    if flat is not None:
        return flat
    for bodies in (shapes.boards, shapes.devices):
        if id_ in bodies:
            ring = bodies[id_].polygon.exterior.coords[:-1]
            return from_vertices([(x, y, 0.0) for x, y in ring], closed=True).counter_clockwise()
    raise FollowingError(f"{id_} has no outline to follow; give it one first")


def _flat_outline(shapes: Shapes, id_: str) -> Path | None:
    """The true outline of a device that lies flat; none for any other thing."""
    device = next((d for d in shapes.document.devices if d.id == id_ and d.outline is not None), None)
    if device is None or device.outline is None:
        return None
    frame = shapes.frames[id_]
    if abs(abs(float(frame.axes[2, 2])) - 1) > _UPRIGHT:
        return None
    # Seen from below, what lies upside down runs the other way round.
    sign = 1.0 if frame.axes[2, 2] > 0 else -1.0
    rows = [(*_place(frame, x, y), sign * bulge) for x, y, bulge in contour(device.outline).path.vertices()]
    return from_vertices(rows, closed=True).counter_clockwise()


def _place(frame: Frame, u: float, v: float) -> tuple[float, float]:
    x, y, _ = (float(value) for value in frame.place(u, v))
    return x, y


def followed_outline(shapes: Shapes, follow: Follow) -> Outline:
    """The outline of what is followed, grown by the clearance; its outer corners round.

    Raises ``FollowingError`` when there is none.
    """
    path = plan_path(shapes, follow.item)
    try:
        return outline_of(grown(path, follow.clearance_mm)[0].outer)
    except CombiningError as error:
        raise FollowingError(f"{follow.item}: {error}") from None


def screw_places(shapes: Shapes, item: str) -> dict[str, tuple[float, float, float]]:
    """Where the mounting holes of a board or a device fall, by their names: x, y, diameter, mm; none when it stands on
    edge."""
    holes = _own_holes(shapes, item)
    if not holes:
        return {}
    frame = shapes.frames[item]
    if abs(float(frame.axes[2, 2])) < 1 - 1e-6:
        return {}
    return {name: (*_place(frame, u, v), diameter) for name, u, v, diameter in holes}


def _own_holes(shapes: Shapes, item: str) -> list[tuple[str, float, float, float]]:
    board = next((b for b in shapes.document.boards if b.id == item), None)
    if board is not None:
        return board_holes(board)
    device = next((d for d in shapes.document.devices if d.id == item), None)
    return [(hole.id, hole.u_mm, hole.v_mm, hole.diameter_mm) for hole in device.holes] if device else []


#: Room over an obstacle in a pocket that opens at the bottom, mm: what the rule of plate and obstacle asks for.
_ROOM_ABOVE_MM = 0.5


@dataclass(frozen=True)
class Made:
    """A document with new areas and holes, their ids, and what should be known of them."""

    document: Document
    ids: tuple[str, ...]
    messages: tuple[str, ...] = ()


def made_along(
    document: Document,
    item: str,
    kind: Area,
    clearance_mm: float = 1.0,
    depth_mm: float = 4.0,
    holes: bool = False,
) -> Made:
    """A new cutout, pocket or keep-out along a thing, and with ``holes`` a through hole under each mounting hole of it.

    A pocket over an obstacle that reaches into the plate from below opens there, at least so deep that it clears it;
    where the lid is there, that is said. Holes that fall outside the plate are left out, and said. Raises
    ``FollowingError`` when there is no outline.
    """
    shapes = build(document)
    follow = Follow(item=item, clearance_mm=clearance_mm)
    outline = followed_outline(shapes, follow)
    id_ = next(new_ids(document, kind))
    name = _name_of(document, item)
    messages: list[str] = []
    if kind == "cutout":
        changed = with_changes(
            document, cutouts=(*document.cutouts, Cutout(id=id_, name=name, outline=outline, follows=follow))
        )
    elif kind == "pocket":
        deep = _reach_from_below_mm(document, item)
        below = deep > 0 and document.plate.lid_face == "top"
        if deep > 0 and not below:
            messages.append(
                f"{item} reaches {deep:g} mm into the plate from below, where the lid is, and this pocket opens at the "
                "top: make a cutout instead, or raise the plate."
            )
        pocket = Pocket(
            id=id_,
            name=name,
            outline=outline,
            face="bottom" if below else "top",
            depth_mm=max(depth_mm, round(deep + _ROOM_ABOVE_MM, 3)) if below else depth_mm,
            follows=follow,
        )
        changed = with_changes(document, pockets=(*document.pockets, pocket))
    else:
        area = KeepOut(id=id_, name=name, outline=outline, follows=follow)
        changed = with_changes(document, keep_outs=(*document.keep_outs, area))
    if not holes:
        return Made(changed, (id_,), tuple(messages))
    drilled, outside = _drilled(changed, shapes, item)
    if outside:
        messages.append(f"Not drilled, outside the plate: {', '.join(outside)} of {item}.")
    if not drilled and not outside:
        messages.append(f"{item} has no mounting holes that fall on the plate.")
    with_holes = with_changes(changed, holes=(*changed.holes, *drilled))
    return Made(with_holes, (id_, *(hole.id for hole in drilled)), tuple(messages))


def _reach_from_below_mm(document: Document, item: str) -> float:
    """How far an obstacle that ends within the plate reaches into its underside, mm; 0 where it does not."""
    thing = next((one for one in document.floor.obstacles if one.id == item), None)
    plate = document.plate
    if thing is None or thing.bottom_mm >= plate.z_mm:
        return 0.0
    reach = thing.height_mm - plate.z_mm
    return round(reach, 3) if 0 < reach < plate.body_thickness_mm + plate.lid_thickness_mm else 0.0


def _drilled(document: Document, shapes: Shapes, item: str) -> tuple[list[Hole], list[str]]:
    ids = new_ids(document, "hole")
    drilled: list[Hole] = []
    outside: list[str] = []
    for name, (x, y, diameter) in screw_places(shapes, item).items():
        if not shapes.plate_polygon.contains(shapely.Point(x, y)):
            outside.append(name)
            continue
        drilled.append(
            Hole(
                id=next(ids),
                name=f"{item} {name}"[:120],
                x_mm=round(x, 6),
                y_mm=round(y, 6),
                screw=_screw_for(diameter),
                use="other",
                follows=Follow(item=item, hole=name),
            )
        )
    return drilled, outside


def _screw_for(diameter: float) -> str:
    """The largest screw whose clearance hole is no wider than the board's own hole."""
    fitting = [name for name in screws.names() if screws.screw(name).major_mm < diameter]
    return max(fitting, key=lambda name: screws.screw(name).major_mm, default="M3")


def _name_of(document: Document, id_: str) -> str:
    things = (*document.boards, *document.devices, *document.floor.obstacles, *document.floor.openings)
    found = next(thing for thing in things if thing.id == id_)
    return f"for {found.name or id_}"[:120]


@dataclass(frozen=True)
class Stale:
    """A follower that is not in step: its list and index, how far it is off (mm), and its values when it is."""

    key: str
    index: int
    id: str
    leader: str
    off_mm: float
    values: dict[str, object]
    why: str = ""


def out_of_step(shapes: Shapes) -> list[Stale]:
    """Every follower that is not where what it follows has it; one whose leader has lost its outline says ``why``."""
    return [*_things_out_of_step(shapes), *_slots_out_of_step(shapes)]


def _things_out_of_step(shapes: Shapes) -> list[Stale]:
    """What follows a thing in the case."""
    document = shapes.document
    found: list[Stale] = []
    for key in AREAS:
        for index, item in enumerate(getattr(document, key)):
            if item.follows is None:
                continue
            try:
                wanted = followed_outline(shapes, item.follows)
            except FollowingError as error:
                found.append(Stale(key, index, item.id, item.follows.item, math.inf, {}, str(error)))
                continue
            off = apart_mm(item.outline, wanted)
            if off > IN_STEP_MM:
                found.append(Stale(key, index, item.id, item.follows.item, off, {"outline": wanted}))
    for index, hole in enumerate(document.holes):
        if hole.follows is None or hole.follows.hole is None:
            continue
        place = screw_places(shapes, hole.follows.item).get(hole.follows.hole)
        if place is None:
            why = f"{hole.follows.item} has no hole {hole.follows.hole} above the plate"
            found.append(Stale("holes", index, hole.id, hole.follows.item, math.inf, {}, why))
            continue
        off = math.dist(place[:2], (hole.x_mm, hole.y_mm))
        if off > IN_STEP_MM:
            values: dict[str, object] = {"x_mm": round(place[0], 6), "y_mm": round(place[1], 6)}
            found.append(Stale("holes", index, hole.id, hole.follows.item, off, values))
    return found


def _slots_out_of_step(shapes: Shapes) -> Iterator[Stale]:
    """Cable slots that do not run as the places they join have them."""
    for index, pocket in enumerate(shapes.document.pockets):
        if pocket.cable is None or not pocket.cable.in_step:
            continue
        start = pocket.cable.start
        try:
            wanted = slot_outline(shapes, pocket)
        except SlotError as error:
            yield Stale("pockets", index, pocket.id, start, math.inf, {}, str(error))
            continue
        off = apart_mm(pocket.outline, wanted)
        if off > IN_STEP_MM:
            yield Stale("pockets", index, pocket.id, start, off, {"outline": wanted})


def in_step(document: Document) -> tuple[Document, list[str]]:
    """The document with every follower in step that is not locked, and the ids of those that changed."""
    ids: list[str] = []
    # Slots come after the pockets and cutouts that they join.
    for slots in (False, True):
        document, changed = _stepped(document, slots)
        ids += changed
    return document, ids


def _stepped(document: Document, slots: bool) -> tuple[Document, list[str]]:
    """The cable slots in step, or all other followers."""
    if slots and not any(pocket.cable for pocket in document.pockets):
        return document, []
    shapes = build(document)
    stale = [
        one
        for one in (_slots_out_of_step(shapes) if slots else _things_out_of_step(shapes))
        if one.values and not getattr(document, one.key)[one.index].locked
    ]
    changes: dict[str, list[object]] = {}
    for one in stale:
        items = changes.setdefault(one.key, list(getattr(document, one.key)))
        items[one.index] = items[one.index].model_copy(update=one.values)  # type: ignore[attr-defined]
    changed = with_changes(document, **{key: tuple(items) for key, items in changes.items()}) if changes else document
    return changed, [one.id for one in stale]


def apart_mm(one: Outline, other: Outline) -> float:
    """How far two outlines are apart at most (Hausdorff distance of their lines), mm."""
    if one == other:
        return 0.0
    first, second = (
        shapely.LinearRing(path.points(IN_STEP_MM / 8)) for path in (contour(one).path, contour(other).path)
    )
    return float(first.hausdorff_distance(second))
