"""In again: a DXF or SVG that came back from the shop, held against ours.

First it is found how the drawing lies as a whole (shifted, turned, mirrored, of another size) and whether a part of it
was nested elsewhere; then every closed contour and whole circle of ours is looked for in theirs: done otherwise (the
layer says depth, side, thread and operation), moved, of another size or shape. What theirs has beyond that was added.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from sketcher.document import Document
from sketcher.export.contour_rows import KINDS, Row, What, layers_known, match, same
from sketcher.export.contours import Feature, contours_of, marks_of, ours_of
from sketcher.export.layer_work import part_of
from sketcher.export.pose import SAME_MM, UNIT_SCALES, Pose, find_pose, sized, turned, way
from sketcher.export.registry import kinds
from sketcher.export.sheet import ExportError, Sheet
from sketcher.export.sheets import make_sheet
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.importing import svg_reader as drawing_svg
from sketcher.importing.outline_joining import DrawingError
from sketcher.importing.units import Drawing

LARGEST_BYTES = 20_000_000
#: Sheets that a drawing may be, when nobody says which.
MAY_BE = ("final", "test-piece")
#: Those that are tried when it is like none of them: they take longer to make.
MAY_BE_TOO = ("body-above", "body-below", "lid")
#: A drawing of which this share is found is the sheet.
LIKE = 0.6
#: A part of which less than this share is found in its place is looked for elsewhere, and taken when more than
#: ``PART_FOUND`` is found there.
PART_LOST, PART_FOUND = 0.5, 0.6
#: A part's contours lie no farther outside its box than this, mm.
_AROUND_MM = 5.0


@dataclass(frozen=True)
class PartPlace:
    """A part that was nested elsewhere, and how it lies against its place on ours."""

    part: str
    pose: Pose

    def words(self) -> str:
        """Where it lies, in a sentence."""
        how = ", ".join(words for words in (way(self.pose.shift) if self.pose.only_shifted else "", turned(self.pose),
                                            sized(self.pose)) if words)  # fmt: skip
        name = {"LID": "The lid", "BODY": "The body", "EDGE": "The views of the edges"}.get(self.part, self.part)
        return f"{name} lies elsewhere in the drawing ({how}) and is compared there."

    def as_json(self) -> dict[str, Any]:
        """The place as plain values."""
        return {"part": self.part, "words": self.words(), **_pose_json(self.pose)}


@dataclass(frozen=True)
class ReadBack:
    """What the returned drawing shows: which sheet it is, how it lies as a whole and in parts, and every contour."""

    sheet: str
    unit: str
    pose: Pose
    rows: tuple[Row, ...]
    messages: tuple[str, ...]
    port_ids: tuple[str, ...] = ()
    parts: tuple[PartPlace, ...] = ()

    @property
    def shift(self) -> Point:
        """How far the drawing sits from ours as a whole, mm."""
        return self.pose.shift

    def of(self, what: What) -> list[Row]:
        """The rows of one kind."""
        return [row for row in self.rows if row.what == what]

    def ports(self) -> list[dict[str, Any]]:
        """Each port that is on the sheet: whether all its contours are as ours, and how far the worst lies off, mm.

        The distance is null where one of them is missing.
        """
        found = []
        for id_ in self.port_ids:
            own = [row for row in self.rows if row.item == id_]
            if own:
                gone = any(row.what == "missing" for row in own)
                farthest = None if gone else round(max(math.hypot(*(row.shift or (0.0, 0.0))) for row in own), 4)
                found.append({"id": id_, "same": all(row.what == "same" for row in own), "off_mm": farthest})
        return found

    def as_json(self) -> dict[str, Any]:
        """The comparison as plain values."""
        return {
            "sheet": self.sheet,
            "unit": self.unit,
            **_pose_json(self.pose),
            "parts": [part.as_json() for part in self.parts],
            "counts": {what: len(self.of(what)) for what in KINDS},
            "ports": self.ports(),
            "rows": [row.as_json() for row in self.rows if row.what != "same"],
            "messages": list(self.messages),
        }


def read_back(
    document: Document,
    shapes: Shapes,
    data: bytes,
    kind: Literal["dxf", "svg"],
    *,
    sheet: str | None = None,
    unit: str | None = None,
) -> ReadBack:
    """A returned drawing against the document's own sheet.

    Args:
        document: the plate that was handed off.
        shapes: its shapes.
        data: the file.
        kind: which kind of file.
        sheet: the sheet it is held against; the one that it is most like, when not given.
        unit: the drawing's, when the file does not say.

    Raises:
        ExportError: the file is too large, is no drawing, or does not say its unit.
    """
    if len(data) > LARGEST_BYTES:
        raise ExportError(f"the file is larger than {LARGEST_BYTES // 1_000_000} MB; take out what is not the plate")
    from sketcher.importing import dxf_reader as drawing_dxf  # ezdxf takes long to import

    there_are = {one.name for one in kinds()}
    names = (sheet,) if sheet else tuple(name for name in MAY_BE if name in there_are)
    made = [make_sheet(document, shapes, name) for name in names]
    others = () if sheet else tuple(name for name in MAY_BE_TOO if name in there_are)
    try:
        drawing = drawing_dxf.pieces(data, unit) if kind == "dxf" else drawing_svg.pieces(data, unit)
        unit_scale = _unit_scale(drawing, made[0])
        theirs = list(contours_of(_enlarged(drawing, 1 / unit_scale)))
        answers = [_against(one, theirs) for one in made]
        for name in others if max(_likeness(one)[0] for one in answers) < LIKE else ():
            with contextlib.suppress(ExportError):  # a set-up that cannot be made was not handed off either
                answers.append(_against(make_sheet(document, shapes, name), theirs))
    except DrawingError as error:
        raise ExportError(str(error)) from None
    best = max(answers, key=_likeness)
    found = best.pose
    shift = (found.shift[0] * unit_scale, found.shift[1] * unit_scale)
    best = replace(best, pose=replace(found, shift=shift, scale=found.scale * unit_scale))
    messages = (*_messages(best), *drawing.messages)
    return ReadBack(best.sheet.name, drawing.unit, best.pose, tuple(best.rows), messages, tuple(shapes.ports),
                    best.parts)  # fmt: skip


def _unit_scale(drawing: Drawing, sheet: Sheet) -> float:
    """The unit that a tiny drawing was mistaken in, by its size as a whole; 1 when it is of a size with ours.

    Below a hundredth of its size contours would be taken for dust, and their ends for one place.
    """
    points = [point for piece in drawing.pieces for point in (piece.start, piece.end)]
    points += [(x, y) for x, y, _ in drawing.circles]
    if len(points) < 2:
        return 1.0
    xs, ys = zip(*points, strict=True)
    left, front, right, rear = sheet.box()
    ratio = math.hypot(max(xs) - min(xs), max(ys) - min(ys)) / math.hypot(right - left, rear - front)
    if ratio > 0.2 or ratio <= 0.0:
        return 1.0
    return min((unit for unit in UNIT_SCALES if unit < 1), key=lambda unit: abs(math.log(ratio / unit)))


def _enlarged(drawing: Drawing, factor: float) -> Drawing:
    """The drawing, larger by a factor."""
    if factor == 1.0:
        return drawing
    return replace(
        drawing,
        pieces=tuple(
            replace(p, start=(p.start[0] * factor, p.start[1] * factor), end=(p.end[0] * factor, p.end[1] * factor))
            for p in drawing.pieces
        ),
        circles=tuple((x * factor, y * factor, d * factor) for x, y, d in drawing.circles),
    )


@dataclass(frozen=True)
class _Against:
    sheet: Sheet
    ours: tuple[Feature, ...]
    pose: Pose
    parts: tuple[PartPlace, ...]
    rows: list[Row]
    work: bool
    flats: list[float]


def _likeness(one: _Against) -> tuple[float, float]:
    """The share of all contours that are found with their shape, and how many they are; half for those whose layer
    says other work, which it always does on another sheet."""
    found = sum({"same": 1.0, "changed": 0.5}.get(row.what, 0.0) for row in one.rows)
    return found / max(len(one.rows), 1), found


def _against(sheet: Sheet, theirs: Sequence[Feature]) -> _Against:
    """Their contours held against one sheet of ours."""
    ours, marks = list(ours_of(sheet)), list(contours_of(marks_of(sheet)))
    pose, _ = find_pose(ours, theirs)
    brought = [pose.back(their) for their in theirs]
    parts, brought = _parts(ours, brought)
    work = layers_known(ours, theirs)
    flats = [their.flat for their in brought if their.flat > SAME_MM]
    return _Against(sheet, tuple(ours), pose, tuple(parts), match(ours, marks, brought, work=work), work, flats)


def _parts(ours: Sequence[Feature], theirs: list[Feature]) -> tuple[list[PartPlace], list[Feature]]:
    """Parts that were nested elsewhere, and their contours brought to where ours have them."""
    by_part: dict[str, list[Feature]] = {}
    for our in ours:
        by_part.setdefault(part_of(our.layer), []).append(our)
    if len(by_part) < 2:
        return [], theirs
    in_place = {id(our) for our in ours if any(same(our, their) for their in theirs)}
    claimed = {j for j, their in enumerate(theirs) for our in ours if id(our) in in_place and same(our, their)}
    places = []
    for part, mine in by_part.items():
        if len(mine) < 2 or sum(id(our) in in_place for our in mine) >= PART_LOST * len(mine):
            continue
        free = [j for j in range(len(theirs)) if j not in claimed]
        pose, found = find_pose(mine, [theirs[j] for j in free])
        if found < PART_FOUND * len(mine) or pose == Pose():
            continue
        places.append(PartPlace(part, pose))
        left, front, right, rear = _box(mine)
        for j in free:
            back = pose.back(theirs[j])
            if left <= back.at[0] <= right and front <= back.at[1] <= rear:
                theirs = [*theirs[:j], back, *theirs[j + 1 :]]
                claimed.add(j)
    return places, theirs


def _box(features: Sequence[Feature]) -> tuple[float, float, float, float]:
    boxes = [
        f.ring.bounds if f.ring is not None else (*(v - f.size / 2 for v in f.at), *(v + f.size / 2 for v in f.at))
        for f in features
    ]
    lefts, fronts, rights, rears = zip(*boxes, strict=True)
    return (min(lefts) - _AROUND_MM, min(fronts) - _AROUND_MM, max(rights) + _AROUND_MM, max(rears) + _AROUND_MM)


def _messages(answer: _Against) -> list[str]:
    """How the drawing lies, what could not be compared, and what a cutter would make of it."""
    pose, said = answer.pose, []
    if pose.only_shifted and way(pose.shift):
        said.append(f"The whole drawing sits {way(pose.shift)} of ours.")
    if turned(pose):
        said.append(f"The drawing is ours {turned(pose)}; it is compared as if it were not.")
    if pose.mirrored:
        said.append("Cut as it is drawn, a mirrored part does not fit: ask for a drawing that is not.")
    if sized(pose):
        said.append(f"The drawing is {sized(pose)}. Cut like that it is scrap: ask for a file at true size.")
    said += [part.words() for part in answer.parts]
    if not any(row.what in ("same", "changed") for row in answer.rows):
        said.append("Nothing lies where ours does: is the drawing of another plate?")
    elif not answer.work:
        said.append("Its layers are not named as ours: depths, sides, threads and operations could not be compared. "
                    "Check them with the shop.")  # fmt: skip
    flats = answer.flats
    if flats:
        circles = "One circle comes" if len(flats) == 1 else f"{len(flats)} circles come"
        said.append(
            f"{circles} back as polygons, whose flats lie up to {max(flats):.3f} mm inside the circle through "
            "their corners."
        )
    return said


def _pose_json(pose: Pose) -> dict[str, Any]:
    return {
        "shift_mm": [round(value, 4) + 0.0 for value in pose.shift],
        "turn_deg": round(pose.turn_deg, 4) + 0.0,
        "mirrored": pose.mirrored,
        "scale": round(pose.scale, 8),
    }
