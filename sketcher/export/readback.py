"""In again: a DXF or SVG that came back from the shop, held against ours.

Every closed contour and whole circle of ours is looked for in theirs: in its place, of another size or shape, or moved.
What theirs has beyond that was added. A drawing that sits elsewhere as a whole is said to, and compared as if it did
not.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import Polygon

from sketcher.document import Document
from sketcher.export.contours import Feature, contours_of, marks_of, ours_of
from sketcher.export.sheet import ExportError
from sketcher.export.sheets import make_sheet
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.importing import dxf_reader as drawing_dxf
from sketcher.importing import svg_reader as drawing_svg
from sketcher.importing.outline_joining import DrawingError

#: Places, diameters and outlines nearer than this are the same, mm.
SAME_MM = 0.01
#: What lies farther from its place than this was not moved: it is missing here and added there, mm.
FARTHEST_MM = 100.0
#: Two outlines that share less than this of what either covers are not the same one reshaped.
LEAST_SHARED = 0.5
LARGEST_BYTES = 20_000_000
#: A drawing in which this share of ours is found when it is turned or mirrored was turned or mirrored.
MOST_TURNED = 0.8
#: Contours that a drawing's place as a whole is taken from, and places tried for each.
_ANCHORS, _PLACES = 8, 40

What = Literal["same", "moved", "resized", "missing", "added"]
_KINDS: tuple[What, ...] = ("same", "moved", "resized", "missing", "added")


@dataclass(frozen=True)
class Row:
    """One contour of ours or theirs.

    ``shift`` is how far its middle lies from ours and ``strays`` how far an outline strays from ours at most, with its
    middle on ours (mm). Sizes are as ``Feature`` has them.
    """

    what: What
    item: str
    layer: str
    round: bool
    at: Point
    shift: Point | None = None
    size: float | None = None
    size_now: float | None = None
    strays: float | None = None

    def words(self) -> str:
        """What became of the contour, in a few words."""
        if self.what == "missing":
            return "is not in the drawing"
        if self.what == "added" or self.size is None or self.size_now is None:
            size = f"{self.size_now or 0:.2f} mm"
            return f"a circle of {size}" if self.round else f"an outline as large as a circle of {size}"
        parts = []
        for value, plus, minus in zip(self.shift or (0.0, 0.0), ("right", "rear"), ("left", "front"), strict=True):
            if abs(value) > SAME_MM / 2:
                parts.append(f"{abs(value):.3f} mm to the {plus if value > 0 else minus}")
        if self.what == "resized" and self.round:
            parts.append(f"{self.size_now:.3f} mm across instead of {self.size:.3f}")
        elif self.what == "resized":
            parts.append(f"its outline strays up to {self.strays or 0:.3f} mm from ours")
        return ", ".join(parts) or "as ours"

    def as_json(self) -> dict[str, Any]:
        """The row with the keys of the interface."""
        dx, dy = self.shift or (0.0, 0.0)
        return {
            "what": self.what,
            "item": self.item,
            "layer": self.layer,
            "round": self.round,
            "at": [round(self.at[0], 4), round(self.at[1], 4)],
            "dx_mm": round(dx, 4) + 0.0,
            "dy_mm": round(dy, 4) + 0.0,
            "diameter_mm": self.size and round(self.size, 4),
            "diameter_now_mm": self.size_now and round(self.size_now, 4),
            "strays_mm": self.strays and round(self.strays, 4),
            "words": self.words(),
        }


@dataclass(frozen=True)
class ReadBack:
    """What the returned drawing shows: which sheet it is, how it sits as a whole (mm), and every contour."""

    sheet: str
    unit: str
    shift: Point
    rows: tuple[Row, ...]
    messages: tuple[str, ...]
    port_ids: tuple[str, ...] = ()

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
            "shift_mm": [round(value, 4) + 0.0 for value in self.shift],
            "counts": {what: len(self.of(what)) for what in _KINDS},
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
        sheet: the sheet it is held against; the one of final and test piece that it is more like, when not given.
        unit: the drawing's, when the file does not say.

    Raises:
        ExportError: the file is too large, is no drawing, or does not say its unit.
    """
    if len(data) > LARGEST_BYTES:
        raise ExportError(f"the file is larger than {LARGEST_BYTES // 1_000_000} MB; take out what is not the plate")
    made = [make_sheet(document, shapes, name) for name in ((sheet,) if sheet else ("final", "test-piece"))]
    try:
        drawing = drawing_dxf.pieces(data, unit) if kind == "dxf" else drawing_svg.pieces(data, unit)
        theirs = list(contours_of(drawing))
        sides = [(one.name, list(ours_of(one)), list(contours_of(marks_of(one)))) for one in made]
    except DrawingError as error:
        raise ExportError(str(error)) from None
    answers = []
    for name, ours, marks in sides:
        shift, _ = whole_shift(ours, theirs)
        rows = _match(ours, marks, [their.moved(-shift[0], -shift[1]) for their in theirs])
        answers.append((sum(row.what == "same" for row in rows), name, ours, shift, rows))
    same, name, ours, shift, rows = max(answers, key=lambda answer: answer[0])
    messages = list(drawing.messages)
    if math.hypot(*shift) > SAME_MM:
        messages.append(f"The whole drawing sits {shift[0]:.3f} mm right and {shift[1]:.3f} mm rear of ours.")
    turned = _turned(ours, theirs, same)
    if turned:
        messages.append(f"The drawing is ours {turned}: turn it back and compare it again.")
    elif not same:
        messages.append("Nothing lies where ours does: is the drawing of another plate?")
    return ReadBack(name, drawing.unit, shift, tuple(rows), tuple(messages), tuple(shapes.ports))


def _match(ours: Sequence[Feature], marks: Sequence[Feature], theirs: Sequence[Feature]) -> list[Row]:
    """Every contour of ours with its counterpart, the surest pairs first; then what is left of theirs."""
    there = [their for their in theirs if not any(_same(mark, their) for mark in marks)]
    rows: dict[int, Row] = {}
    taken: set[int] = set()

    def pair(what: What, near: float, alike: Callable[[Feature, Feature], bool]) -> None:
        left = [i for i in range(len(ours)) if i not in rows]
        free = [j for j in range(len(there)) if j not in taken]
        if not left or not free:
            return
        tree = cKDTree([there[j].at for j in free])
        close = tree.query_ball_point([ours[i].at for i in left], near)
        pairs = sorted(
            (math.dist(ours[i].at, there[free[k]].at), abs(ours[i].size - there[free[k]].size), i, free[k])
            for i, found in zip(left, close, strict=True) for k in found
        )  # fmt: skip
        for _, _, i, j in pairs:
            if i in rows or j in taken or ours[i].round != there[j].round or not alike(ours[i], there[j]):
                continue
            our, their = ours[i], there[j]
            shift = (their.at[0] - our.at[0], their.at[1] - our.at[1])
            strays = None if our.round else _strays(our, their.moved(-shift[0], -shift[1]))
            rows[i] = Row(what, our.item, our.layer, our.round, our.at, shift, our.size, their.size, strays)
            taken.add(j)

    pair("same", 2 * SAME_MM, _same)
    pair("resized", SAME_MM, lambda our, their: True)
    pair("moved", FARTHEST_MM, _same_shape)
    pair("resized", FARTHEST_MM, _overlap)
    found = [
        rows.get(i) or Row("missing", our.item, our.layer, our.round, our.at, size=our.size)
        for i, our in enumerate(ours)
    ]
    return found + [
        Row("added", "", "", their.round, their.at, size_now=their.size)
        for j, their in enumerate(there)
        if j not in taken
    ]


def _strays(our: Feature, their: Feature) -> float:
    """How far one outline strays from the other at most, mm: the Hausdorff distance at their corners."""
    return float(shapely.hausdorff_distance(our.ring, their.ring))


def _same(our: Feature, their: Feature) -> bool:
    if our.round != their.round or math.dist(our.at, their.at) > 2 * SAME_MM:
        return False
    if our.round:
        return math.dist(our.at, their.at) <= SAME_MM and abs(our.size - their.size) <= SAME_MM
    return _strays(our, their) <= SAME_MM


def _same_shape(our: Feature, their: Feature) -> bool:
    if our.round or abs(our.size - their.size) > 2 * SAME_MM:
        return our.round and abs(our.size - their.size) <= SAME_MM
    return _strays(our, their.moved(our.at[0] - their.at[0], our.at[1] - their.at[1])) <= SAME_MM


def _overlap(our: Feature, their: Feature) -> bool:
    """Whether one may be the other, moved and of another size or shape."""
    if our.round:
        return math.dist(our.at, their.at) <= our.size / 2 and 0.5 < their.size / our.size < 2
    one, other = (shapely.make_valid(Polygon(feature.ring)) for feature in (our, their))
    return float(one.intersection(other).area) > LEAST_SHARED * float(one.union(other).area)


def whole_shift(ours: Sequence[Feature], theirs: Sequence[Feature]) -> tuple[Point, int]:
    """How far theirs sits from ours as a whole, mm, and how many contours of ours are found there.

    Each of the contours that few others are like is laid on each of theirs that are like it; the place at which most
    of ours are found counts. No shift is preferred to any that finds no more.
    """
    if not ours or not theirs:
        return (0.0, 0.0), 0
    table, there = _table(ours), _table(theirs)
    tree = cKDTree(there)
    alike = cKDTree(table[:, 2:]).query_ball_point(table[:, 2:], 5 * SAME_MM, p=np.inf, return_length=True)
    anchors = sorted(range(len(ours)), key=lambda i: (alike[i], -ours[i].size))[:_ANCHORS]
    shifts = [(0.0, 0.0)]
    for i in anchors:
        places = [t.at for t in theirs if t.round == ours[i].round and abs(t.size - ours[i].size) <= 5 * SAME_MM]
        shifts += [(x - ours[i].at[0], y - ours[i].at[1]) for x, y in places[:_PLACES]]
    best, most = (0.0, 0.0), -1
    for shift in dict.fromkeys(shifts):
        far, near = tree.query(table + np.array([*shift, 0.0, 0.0]), p=np.inf, distance_upper_bound=SAME_MM)
        found = np.isfinite(far)
        if int(found.sum()) > most:
            most = int(found.sum())
            # The contour that it was laid on may itself be off by a little: most of them are not.
            off = there[np.asarray(near)[found], :2] - table[found, :2]
            best = (0.0, 0.0) if shift == (0.0, 0.0) else (float(np.median(off[:, 0])), float(np.median(off[:, 1])))
    return (best if math.hypot(*best) > SAME_MM else (0.0, 0.0)), most


def _table(features: Sequence[Feature]) -> np.ndarray:
    """Middle, size and whether it is round, a row for each."""
    return np.array([(*f.at, f.size, 1e6 * f.round) for f in features])


#: How a drawing may be turned or mirrored, and the matrix that brings x and y back.
_WAYS = {
    "turned by half": (-1, 0, 0, -1), "turned a quarter to the left": (0, 1, -1, 0),
    "turned a quarter to the right": (0, -1, 1, 0), "mirrored left to right": (-1, 0, 0, 1),
    "mirrored front to rear": (1, 0, 0, -1), "mirrored and turned a quarter": (0, 1, 1, 0),
    "mirrored and turned a quarter the other way": (0, -1, -1, 0),
}  # fmt: skip


def _turned(ours: Sequence[Feature], theirs: Sequence[Feature], same: int) -> str:
    """How the drawing was turned or mirrored, where that explains what nothing else does; else nothing."""
    if same > len(ours) / 2:
        return ""
    found = []
    for way, (a, b, c, d) in _WAYS.items():
        back = [Feature(t.round, (a * t.at[0] + b * t.at[1], c * t.at[0] + d * t.at[1]), t.size) for t in theirs]
        found.append((whole_shift(ours, back)[1], way))
    most, way = max(found, key=lambda pair: pair[0])
    return way if most >= MOST_TURNED * len(ours) and most > same else ""
