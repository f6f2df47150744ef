"""A STEP file as the tests see it: volume and box of its solids, the round walls of its holes, and its flat faces.

The kernel (OCP) reads the file and measures it; nothing of the plate that it was made from is known here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from sketcher.export.solid import faces_of, volume_of
from sketcher.export.solid_read import read_shapes


@dataclass(frozen=True)
class Wall:
    """A round wall: its axis through ``at`` (x, y; of a lying one also z) along ``direction``, and where it reaches.

    ``low`` and ``high`` are distances along the axis from the origin's foot on it, mm; ``hollow`` says that the
    material is outside, as around a hole; ``share`` is how much of the turn is there, 1 for a whole cylinder.
    """

    at: tuple[float, float, float]
    direction: tuple[float, float, float]
    radius: float
    low: float
    high: float
    hollow: bool
    share: float

    @property
    def upright(self) -> bool:
        """Whether its axis stands."""
        return abs(self.direction[2]) > 0.999999


@dataclass(frozen=True)
class ReadSolid:
    """What a file holds: volume (mm³) and box of all solids together, and every round wall of each."""

    count: int
    volume_mm3: float
    box: tuple[float, float, float, float, float, float]
    walls: tuple[Wall, ...]
    flat_faces: int


def read_step(data: bytes) -> ReadSolid:
    """A STEP file.

    Raises:
        ExportError: the file is no STEP file with a solid in it.
    """
    solids = read_shapes(data)
    walls = [wall for solid in solids for wall in _walls(solid)]
    flat = sum(_is_flat(face) for solid in solids for face in faces_of(solid))
    boxes = [_box(solid) for solid in solids]
    low = [min(box[n] for box in boxes) for n in range(3)]
    high = [max(box[n] for box in boxes) for n in range(3, 6)]
    volume = math.fsum(volume_of(solid) for solid in solids)
    return ReadSolid(len(solids), volume, (*low, *high), tuple(walls), flat)  # type: ignore[arg-type]


def _is_flat(face: Any) -> bool:
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_Plane

    return bool(BRepAdaptor_Surface(face).GetType() == GeomAbs_Plane)


def _walls(solid: Any) -> list[Wall]:
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepTools import BRepTools
    from OCP.GeomAbs import GeomAbs_Cylinder
    from OCP.TopAbs import TopAbs_REVERSED

    parts: dict[tuple[float, ...], list[tuple[float, float, float]]] = {}
    about: dict[tuple[float, ...], tuple[Any, Any]] = {}
    for face in faces_of(solid):
        surface = BRepAdaptor_Surface(face)
        if surface.GetType() != GeomAbs_Cylinder:
            continue
        cylinder = surface.Cylinder()
        place, way = cylinder.Axis().Location(), cylinder.Axis().Direction()
        # One axis has one direction, whichever way it was written.
        sign = -1.0 if (way.Z(), way.Y(), way.X()) < (0.0, 0.0, 0.0) else 1.0
        d = (sign * way.X(), sign * way.Y(), sign * way.Z())
        p = (place.X(), place.Y(), place.Z())
        along = sum(a * b for a, b in zip(p, d, strict=True))
        foot = tuple(a - along * b for a, b in zip(p, d, strict=True))
        ends = tuple(BRepTools.UVBounds_s(face))
        low, high = sorted((along + sign * ends[2], along + sign * ends[3]))
        hollow = (face.Orientation() == TopAbs_REVERSED) == cylinder.Direct()
        key = (*(round(v, 5) + 0.0 for v in (*foot, *d, cylinder.Radius())), float(hollow))
        parts.setdefault(key, []).append((low, high, ends[1] - ends[0]))
        about[key] = (foot, d)
    found = []
    for key, pieces in parts.items():
        foot, d = about[key]
        low, high = min(piece[0] for piece in pieces), max(piece[1] for piece in pieces)
        turn = math.fsum((piece[1] - piece[0]) * piece[2] for piece in pieces) / ((high - low) or 1.0)
        found.append(Wall(foot, d, key[6], low, high, bool(key[7]), min(turn / (2 * math.pi), 1.0)))
    return found


def _box(shape: Any) -> tuple[float, float, float, float, float, float]:
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return (low.X(), low.Y(), low.Z(), high.X(), high.Y(), high.Z())
