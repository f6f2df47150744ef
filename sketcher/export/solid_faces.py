"""A solid's faces as features: round walls, flat faces, cones, each with its place in space, for comparing two solids.

Another program may cut a face into pieces or lay them together; here round walls about one axis are one as long as they
touch, and flat faces that border each other in one plane are one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal, cast

import numpy as np
from numpy.typing import NDArray

from sketcher.export.solid import faces_of

Vector = NDArray[np.float64]
Kind = Literal["round", "flat", "cone", "other"]
#: Axes and planes nearer than this are one, mm and as parts of a unit vector.
_SAME = 1e-5
#: A free-form surface this near to a plane, cylinder or cone is one, mm.
_FREE_MM = 1e-3
#: Areas are summed to this share.
_AREA = 1e-7
#: Where along an edge its points are taken; the quarters of a round edge lie between.
_SHARES = (0.5, 0.0, 0.125, 0.25, 0.375, 0.625, 0.75, 0.875, 1.0)


@dataclass(frozen=True, eq=False)
class Feature:
    """One face, or the pieces of one.

    Attributes:
        kind: of its surface.
        at: the middle of a round wall's axis, the centre of area of a flat face, a cone's middle: (3,), mm.
        way: unit vector: of an axis (either way), out of the material of a flat face; zeros of others.
        size: radius of a round wall, root of the area of a flat face; of a cone its mean radius.
        length: of a round wall or a cone along its axis; 0 of others.
        hollow: whether the material is outside, as around a hole.
        touch: a point on its edge, (3,).
    """

    kind: Kind
    at: Vector
    way: Vector
    size: float
    length: float
    hollow: bool
    touch: Vector

    def signature(self) -> tuple[float, float, float]:
        """What stays when it is moved: kind and side, size, length."""
        return (1e6 * ("round", "flat", "cone", "other").index(self.kind) + 1e5 * self.hollow, self.size, self.length)

    def moved(self, turn: Vector, scale: float, shift: Vector) -> Feature:
        """Turned (3, 3), made larger, then shifted."""
        return replace(
            self, at=scale * turn @ self.at + shift, way=turn @ self.way, size=self.size * scale,
            length=self.length * scale, touch=scale * turn @ self.touch + shift,
        )  # fmt: skip

    def level(self) -> float:
        """How far a flat face lies from the origin along its own direction, mm."""
        return float(self.way @ self.at)


def features_of(solid: Any) -> list[Feature]:
    """The features of a kernel's solid."""
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    joined = ShapeUpgrade_UnifySameDomain(solid, True, True, False)
    joined.Build()
    raw = [feature for face in faces_of(joined.Shape()) for feature in _feature(face)]
    return [*_joined([f for f in raw if f.kind == "round"]), *(f for f in raw if f.kind != "round")]


def _feature(face: Any) -> Iterator[Feature]:
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    # Free-form edges need the adaptive sum: the plain one is off by a ten-thousandth.
    BRepGProp.SurfaceProperties_s(face, properties, _AREA)
    area, centre = float(properties.Mass()), _vector(properties.CentreOfMass())
    points = _on_edges(face)
    touch, outward = points[0], _outward(face)
    size = math.sqrt(max(area, 0.0))
    kind, surface = _canonical(face, BRepAdaptor_Surface(face))
    if kind == "flat":
        way = _vector(surface.Axis().Direction())
        yield Feature("flat", centre, way if float(way @ outward[1]) > 0 else -way, size, 0.0, False, touch)
    elif kind in ("round", "cone"):
        place, way = _vector(surface.Axis().Location()), _vector(surface.Axis().Direction())
        along = (points - place) @ way
        low, high = float(along.min()), float(along.max())
        radial = outward[0] - place
        hollow = float((radial - float(radial @ way) * way) @ outward[1]) < 0
        radius = float(surface.Radius()) if kind == "round" else abs(
            float(surface.RefRadius()) + (low + high) / 2 * math.tan(float(surface.SemiAngle()))
        )  # fmt: skip
        yield Feature(cast(Kind, kind), place + way * (low + high) / 2, way, radius, high - low, hollow, touch)
    else:
        yield Feature("other", centre, np.zeros(3), size, 0.0, False, touch)


def _canonical(face: Any, surface: Any) -> tuple[str, Any]:
    """What a face is: flat, round or a cone; also where another program wrote it as a free-form surface."""
    from OCP.GeomAbs import GeomAbs_Cone, GeomAbs_Cylinder, GeomAbs_Plane
    from OCP.gp import gp_Cone, gp_Cylinder, gp_Pln
    from OCP.ShapeAnalysis import ShapeAnalysis_CanonicalRecognition

    kind = surface.GetType()
    if kind == GeomAbs_Plane:
        return "flat", surface.Plane()
    if kind == GeomAbs_Cylinder:
        return "round", surface.Cylinder()
    if kind == GeomAbs_Cone:
        return "cone", surface.Cone()
    look = ShapeAnalysis_CanonicalRecognition(face)
    for name, made, found in (("flat", gp_Pln(), look.IsPlane), ("round", gp_Cylinder(), look.IsCylinder),
                              ("cone", gp_Cone(), look.IsCone)):  # fmt: skip
        look.SetShape(face)
        if found(_FREE_MM, made):
            return name, made
    return "other", None


def _outward(face: Any) -> tuple[Vector, Vector]:
    """A point in the middle of a face's parameters, and the direction out of the material there."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepTools import BRepTools
    from OCP.gp import gp_Pnt, gp_Vec
    from OCP.TopAbs import TopAbs_REVERSED

    u0, u1, v0, v1 = tuple(BRepTools.UVBounds_s(face))
    at, du, dv = gp_Pnt(), gp_Vec(), gp_Vec()
    BRepAdaptor_Surface(face).D1((u0 + u1) / 2, (v0 + v1) / 2, at, du, dv)
    normal = np.cross(_vector(du), _vector(dv)) * (-1.0 if face.Orientation() == TopAbs_REVERSED else 1.0)
    return _vector(at), normal


def _vector(place: Any) -> Vector:
    return np.array([place.X(), place.Y(), place.Z()])


def _on_edges(face: Any) -> Vector:
    """Points along the edges of a face, (n, 3); the middle of its first edge comes first."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.TopAbs import TopAbs_EDGE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    found: list[Vector] = []
    walk = TopExp_Explorer(face, TopAbs_EDGE)
    while walk.More():
        curve = BRepAdaptor_Curve(TopoDS.Edge(walk.Current()))
        walk.Next()
        first, last = curve.FirstParameter(), curve.LastParameter()
        if math.isfinite(first) and math.isfinite(last):
            found += [_vector(curve.Value(first + share * (last - first))) for share in _SHARES]
    return np.array(found) if found else np.zeros((1, 3))


def _joined(walls: list[Feature]) -> Iterator[Feature]:
    """Walls about one axis and of one radius whose lengths touch, as one."""
    groups: dict[tuple[float, ...], list[tuple[float, float, Feature]]] = {}
    for wall in walls:
        way = wall.way * (1.0 if tuple(np.round(wall.way[::-1], 6)) > (0.0, 0.0, 0.0) else -1.0)
        along = float(way @ wall.at)
        foot = wall.at - along * way
        key = (*np.round([*foot, *way, wall.size], 4) + 0.0, float(wall.hollow))
        span = (along - wall.length / 2, along + wall.length / 2)
        groups.setdefault(key, []).append((*span, replace(wall, way=way)))
    for pieces in groups.values():
        pieces.sort(key=lambda piece: piece[:2])
        low, high, first = pieces[0]
        for begin, end, piece in pieces[1:]:
            if begin <= high + _SAME:
                high = max(high, end)
                continue
            yield _spanning(first, low, high)
            low, high, first = begin, end, piece
        yield _spanning(first, low, high)


def _spanning(wall: Feature, low: float, high: float) -> Feature:
    foot = wall.at - float(wall.way @ wall.at) * wall.way
    return replace(wall, at=foot + wall.way * (low + high) / 2, length=high - low)
