"""Closed outlines in plan: circle, slot, rectangle, polygon with straight and arc edges."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from sketcher.document.base import SMALLEST, Degrees, Length, LengthOrZero, Millimetres, Model, Number, Place


class Circle(Model):
    """A round outline about its centre."""

    shape: Literal["circle"] = "circle"
    x_mm: Millimetres
    y_mm: Millimetres
    diameter_mm: Length


class Slot(Model):
    """A slot with round ends, about its centre; the length is over all, the ends included."""

    shape: Literal["slot"] = "slot"
    x_mm: Millimetres
    y_mm: Millimetres
    length_mm: Length
    width_mm: Length
    turn_deg: Degrees = 0.0


class Rectangle(Model):
    """A rectangle about its centre: width along x and depth along y before it is turned."""

    shape: Literal["rectangle"] = "rectangle"
    x_mm: Millimetres
    y_mm: Millimetres
    width_mm: Length
    depth_mm: Length
    corner_radius_mm: LengthOrZero = 0.0
    turn_deg: Degrees = 0.0


def _straight(bulge: float) -> float:
    """An arc that leaves its chord by less than a millionth of it is a line: its radius could not be worked with."""
    return 0.0 if abs(bulge) < SMALLEST else bulge


class Vertex(Place):
    """A corner of a polygon, and the edge from it to the next corner.

    ``bulge`` is that of the DXF reference: the tangent of a quarter of the arc's included angle, positive
    when the arc runs counter-clockwise, 0 for a straight edge. ``corner_radius_mm`` rounds this corner
    where two straight edges meet.
    """

    corner_radius_mm: LengthOrZero = 0.0
    bulge: Annotated[Number, Field(ge=-10, le=10, allow_inf_nan=False), AfterValidator(_straight)] = 0.0


class Polygon(Model):
    """A closed outline through its corners, in either direction; the last joins the first."""

    shape: Literal["polygon"] = "polygon"
    vertices: Annotated[tuple[Vertex, ...], Field(min_length=2, max_length=2000)]


Outline = Annotated[Circle | Slot | Rectangle | Polygon, Field(discriminator="shape")]
