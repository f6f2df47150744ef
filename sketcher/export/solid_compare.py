"""A STEP file that came back from the shop, held against our own solids.

First it is found which of its solids is the body and which the lid, and how each lies against ours: moved, turned,
mirrored, of another size. Brought back to our place, every face is looked for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.export.contour_rows import KINDS
from sketcher.export.pose import sized_words
from sketcher.export.recesses import Recessed, recessed
from sketcher.export.setups import datum_of
from sketcher.export.sheet import ExportError
from sketcher.export.solid import HOW_TO_GET, available, build_part, fine_volume_of, working
from sketcher.export.solid_faces import Feature, features_of
from sketcher.export.solid_pose import SpacePose, find_space_pose
from sketcher.export.solid_read import read_shapes
from sketcher.export.solid_rows import SolidRow, off_mm, rows_of, way_in_space
from sketcher.geometry import Shapes
from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import Point
from sketcher.geometry.shapes import polygon_of
from sketcher.strength.seal import design_seal

Vector = NDArray[np.float64]
#: Which parts a sheet holds.
PARTS: dict[str, tuple[str, ...]] = {"body": ("BODY",), "lid": ("LID",), "final": ("BODY", "LID")}
#: A solid of which less than this share of our faces is found is none of ours.
LIKE = 0.3
#: Volumes that differ by less than this share are the same.
SAME_VOLUME = 1e-6
#: A wall's point is on an item's outline when it is nearer than this, mm: outlines are chords within 0.01.
_ON_MM = 0.03


@dataclass(frozen=True, eq=False)
class _Ours:
    part: Recessed
    features: list[Feature]
    volume: float


@dataclass(frozen=True, eq=False)
class _Theirs:
    features: list[Feature]
    volume: float


@dataclass(frozen=True, eq=False)
class _Found:
    ours: _Ours
    theirs: _Theirs
    pose: SpacePose
    rows: tuple[SolidRow, ...]
    same: int


@dataclass(frozen=True, eq=False)
class SolidCompared:
    """What a returned STEP file shows; the keys of its JSON are those of a returned drawing, with z beside x and y."""

    sheet: str
    pose: SpacePose
    found: tuple[tuple[str, SpacePose], ...]
    rows: tuple[SolidRow, ...]
    same: int
    messages: tuple[str, ...]
    port_ids: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The comparison as plain values."""
        counts = {what: sum(row.what == what for row in self.rows) for what in KINDS}
        return {
            "sheet": self.sheet,
            "unit": "mm",
            **_pose_json(self.pose),
            "parts": [
                {"part": part, "words": part_words(part, pose), **_pose_json(pose)}
                for part, pose in self.found[1:]
                if not _alike(pose, self.pose)
            ],
            "counts": {**counts, "same": self.same},
            "ports": list(self._ports()),
            "rows": [row.as_json() for row in sorted(self.rows, key=lambda row: KINDS.index(row.what))],
            "messages": list(self.messages),
        }

    def _ports(self) -> list[dict[str, Any]]:
        found = []
        for id_ in self.port_ids:
            own = [row for row in self.rows if id_ in row.item.split("+")]
            gone = any(row.what == "missing" for row in own)
            off = None if gone else round(max((off_mm(row) for row in own), default=0.0), 4)
            found.append({"id": id_, "same": not own, "off_mm": off})
        return found


def compare_step(document: Document, shapes: Shapes, data: bytes, *, sheet: str | None = None) -> SolidCompared:
    """A returned STEP file against the document's own solids.

    Args:
        document: the plate that was handed off.
        shapes: its shapes.
        data: the file.
        sheet: ``body``, ``lid`` or ``final`` (both); what the file holds, when not given.

    Raises:
        ExportError: the kernel is not installed, the file is no STEP file with a solid, or our own is no valid solid.
    """
    if not available():
        raise ExportError(HOW_TO_GET)
    if sheet is not None and sheet not in PARTS:
        raise ExportError(f"a STEP file is compared with {', '.join(PARTS)}, not with {sheet!r}")
    datum = datum_of(shapes)
    wanted = PARTS[sheet or "final"]
    with working():
        theirs = [_Theirs(features_of(solid), fine_volume_of(solid)) for solid in read_shapes(data)]
        ours = [
            _Ours(part, features_of(solid), fine_volume_of(solid))
            for part in recessed(document, shapes, design_seal(document, shapes))
            if part.part.name in wanted
            for solid in [build_part(part, datum)]
        ]
    found, spare = _paired(ours, theirs, datum)
    here = {one.ours.part.part.name for one in found}
    rows = [row for one in found for row in one.rows]
    for one in ours:
        name = one.part.part.name
        # Without a sheet's name a file holds what is like ours; what may have been the other part is asked for too.
        asked = sheet is not None or not found or any(0.5 < their.volume / one.volume < 2 for their in spare)
        if name not in here and asked:
            here.add(name)
            rows.append(SolidRow("missing", name, "", (0.0, 0.0, 0.0), f"the {name.lower()} is not in the file"))
    poses = tuple((one.ours.part.part.name, one.pose) for one in found)
    named = next((name for name, parts in PARTS.items() if set(parts) == here), "final")
    pose = poses[0][1] if poses else SpacePose(np.eye(3), np.zeros(3))
    return SolidCompared(
        sheet or named, pose, poses, tuple(rows), sum(one.same for one in found),
        tuple(_messages(found, spare)), tuple(shapes.ports),
    )  # fmt: skip


def _paired(ours: Sequence[_Ours], theirs: Sequence[_Theirs], datum: Point) -> tuple[list[_Found], list[_Theirs]]:
    """Each part of ours with the solid of theirs that is most like it."""
    tried = []
    for i, our in enumerate(ours):
        for j, their in enumerate(theirs):
            ratio = (their.volume / our.volume) ** (1 / 3) if their.volume > 0 else 1.0
            pose, count = find_space_pose(our.features, their.features, ratio)
            tried.append((count / len(our.features), i, j, pose))
    tried.sort(key=lambda row: (-row[0], row[1], row[2]))
    used: tuple[set[int], set[int]] = (set(), set())
    found: dict[int, _Found] = {}
    for share, i, j, pose in tried:
        if share < LIKE or i in used[0] or j in used[1]:
            continue
        used[0].add(i)
        used[1].add(j)
        part = ours[i].part
        back = [pose.back(feature) for feature in theirs[j].features]
        rows, same = rows_of(part.part.name, ours[i].features, back, _namer(part, datum))
        volume = theirs[j].volume / pose.scale**3
        if not rows and abs(volume / ours[i].volume - 1) > SAME_VOLUME:
            words = f"its volume is {volume:.1f} mm³ instead of {ours[i].volume:.1f}, and no face tells why"
            rows = [SolidRow("changed", part.part.name, "", (0.0, 0.0, 0.0), words)]
        found[i] = _Found(ours[i], theirs[j], pose, tuple(rows), same)
    return [found[i] for i in sorted(found)], [their for j, their in enumerate(theirs) if j not in used[1]]


def _namer(part: Recessed, datum: Point) -> Callable[[Feature], str]:
    """The item that a face of ours belongs to; empty for the faces of the part itself."""
    areas = [(prism, shapely.boundary(area), area) for prism in part.prisms for area in [_area(prism.rings)]]

    def name(feature: Feature) -> str:
        x, y, z = (float(v) for v in feature.touch)
        place = shapely.Point(x + datum[0], y + datum[1])
        flat_lying = feature.kind == "flat" and abs(feature.way[2]) > 0.5
        best, found = _ON_MM, ""
        for prism, boundary, area in areas:
            if flat_lying:
                level = min(abs(z - prism.low), abs(z - prism.high))
                inside = min(abs(z - part.part.low), abs(z - part.part.high)) > _ON_MM
                far = max(level, float(shapely.distance(area, place))) if inside else math.inf
            else:
                beyond = max(prism.low - z, z - prism.high, 0.0)
                far = max(beyond, float(shapely.distance(boundary, place)))
            if far < best:
                best, found = far, prism.item
        if found:
            return found
        for cone in part.cones:
            if math.dist(feature.at[:2] + np.array(datum), cone.at) < _ON_MM and feature.kind == "cone":
                return cone.item
        for barrel in part.barrels:
            off = np.array([*(feature.at[:2] + np.array(datum)), feature.at[2]]) - [*barrel.start, barrel.level]
            way = np.array([*barrel.heading, 0.0])
            across = float(np.linalg.norm(off - (off @ way) * way))
            lies = feature.kind == "round" and abs(float(feature.way @ way)) > 0.999 and across < _ON_MM
            if lies or (feature.kind == "flat" and abs(feature.way @ way) > 0.999 and across <= barrel.radius
                        and abs(float(off @ way) - barrel.length) < _ON_MM):  # fmt: skip
                return barrel.item
        return ""

    return name


def _area(rings: Sequence[Any]) -> shapely.Geometry:
    outer, *islands = (polygon_of(Contour(ring)) for ring in rings)
    return shapely.difference(outer, shapely.union_all(islands)) if islands else outer


def _messages(found: Sequence[_Found], spare: Sequence[_Theirs]) -> list[str]:
    said = []
    for n, one in enumerate(found):
        if n and _alike(one.pose, found[0].pose):
            continue
        name = "The file" if n == 0 else f"The {one.ours.part.part.name.lower()}"
        said += _pose_sentences(name, one.pose)
    if not found:
        said.append("No solid in the file is like the body or the lid: is it of another plate?")
    if spare:
        sizes = ", ".join(f"{one.volume / 1000:.2f} cm³" for one in spare)
        said.append(f"The file also holds what is neither body nor lid ({sizes}); it is not compared.")
    said.append("A STEP file has no threads: thread sizes and depths have to be checked on the shop's drawing.")
    return said


def _pose_sentences(name: str, pose: SpacePose) -> list[str]:
    said = []
    angle, axis = pose.turned()
    if pose.mirrored:
        said.append(f"{name} is the mirror image of ours{_mirror(pose)}. Cut as it is, it does not fit.")
    elif angle:
        said.append(f"{name} is turned by {_angle(angle)} about {_axis(axis)}; it is compared as if it were not.")
    elif pose.scale == 1.0 and way_in_space(pose.shift):
        said.append(f"{name} sits {way_in_space(pose.shift)} of ours.")
    if pose.scale != 1.0:
        said.append(f"{name} is {sized_words(pose.scale)}. Cut like that it is scrap: ask for a file at true size.")
    return said


def part_words(part: str, pose: SpacePose) -> str:
    """Where a part lies that lies otherwise than the rest, in a sentence."""
    return " ".join(_pose_sentences(f"The {part.lower()}", pose)) or f"The {part.lower()} lies as ours does."


def _mirror(pose: SpacePose) -> str:
    for axis, words in enumerate(("left to right", "front to rear", "top to bottom")):
        flipped = np.eye(3)
        flipped[axis, axis] = -1.0
        if np.allclose(pose.turn, flipped, atol=1e-6):
            return f", {words}"
    return ", and turned"


def _angle(angle: float) -> str:
    return f"{angle:.0f}°" if abs(angle - round(angle)) < 5e-3 else f"{angle:.2f}°"


def _axis(axis: Vector) -> str:
    for i, name in enumerate("xyz"):
        if abs(abs(axis[i]) - 1) < 1e-6:
            return f"{name}" if axis[i] > 0 else f"-{name}"
    return f"the direction ({', '.join(f'{v:.3f}' for v in axis)})"


def _alike(one: SpacePose, other: SpacePose) -> bool:
    return one.scale == other.scale and bool(
        np.allclose(one.turn, other.turn, atol=1e-5) and np.allclose(one.shift, other.shift, atol=0.02)
    )


def _pose_json(pose: SpacePose) -> dict[str, Any]:
    return {
        "shift_mm": [round(float(value), 4) + 0.0 for value in pose.shift],
        "turn_deg": round(pose.turned()[0], 4),
        "turn_axis": [round(float(value), 6) + 0.0 for value in pose.turned()[1]] if pose.turned()[0] else None,
        "mirrored": pose.mirrored,
        "scale": round(pose.scale, 8),
    }
