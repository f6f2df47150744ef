"""The few marks every drawing is made of: paths with true arcs, upright text, groups that carry their item."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import svgwrite
from shapely import Polygon
from svgwrite.base import BaseElement
from svgwrite.container import Group

from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import Path, Point

#: Without its own checks svgwrite is five times as quick; everything written here is plain SVG 1.1.
SVG = svgwrite.Drawing(debug=False)


def number(value: float) -> str:
    """A coordinate in mm, to the micrometre and without trailing zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path_data(path: Path) -> str:
    """SVG path data of a path, arcs kept as arcs. Anything over half a turn is drawn in two steps by its bulge."""
    if not path.segments:
        return ""
    parts = [f"M{number(path.start[0])} {number(path.start[1])}"]
    for segment in path.segments:
        x, y = segment.end
        if segment.straight:
            parts.append(f"L{number(x)} {number(y)}")
        else:
            radius = number(segment.radius)
            # In the plan's own axes (y to the rear) a positive angle runs counter-clockwise, as a bulge does.
            large, sweep = int(abs(segment.bulge) > 1), int(segment.bulge > 0)
            parts.append(f"A{radius} {radius} 0 {large} {sweep} {number(x)} {number(y)}")
    return "".join(parts) + ("Z" if path.closed else "")


def polygon_data(polygon: Polygon) -> str:
    """SVG path data of a polygon with its holes, for shapes that are only known as polygons."""
    return "".join(_ring(ring.coords[:-1]) for ring in (polygon.exterior, *polygon.interiors) if len(ring.coords))


def _ring(points: Sequence[Sequence[float]]) -> str:
    return "M" + "L".join(f"{number(p[0])} {number(p[1])}" for p in points) + "Z"


def group(class_: str | None = None, **data: str | None) -> Group:
    """A group with a class and ``data-…`` attributes; those that are none are left out."""
    made = SVG.g()
    if class_:
        made["class"] = class_
    for key, value in data.items():
        if value is not None:
            made[f"data-{key.replace('_', '-')}"] = value
    return made


def item(id_: str, kind: str, parts: Iterable[BaseElement], **data: str | None) -> Group:
    """An item's group: ``data-id``, ``data-kind``, and its parts."""
    made = group("item", id=id_, kind=kind, **data)
    for part in parts:
        made.add(part)
    return made


def drawn(path: Path, class_: str, **attributes: Any) -> BaseElement:
    """A path, true arcs and all."""
    return SVG.path(d=path_data(path), class_=class_, **attributes)


def outline(contour: Contour, class_: str) -> BaseElement:
    """A closed contour; a whole circle stays a circle."""
    if contour.round is not None:
        (x, y), radius = contour.round
        return disc((x, y), radius, class_)
    return drawn(contour.path, class_)


def area(polygon: Polygon, class_: str) -> BaseElement:
    """A polygon."""
    return SVG.path(d=polygon_data(polygon), class_=class_)


def disc(centre: Point, radius: float, class_: str) -> BaseElement:
    """A circle."""
    return SVG.circle(center=(number(centre[0]), number(centre[1])), r=number(radius), class_=class_)


def line(start: Point, end: Point, class_: str) -> BaseElement:
    """A straight line."""
    return SVG.line(start=(number(start[0]), number(start[1])), end=(number(end[0]), number(end[1])), class_=class_)


def text(words: str, at: Point, class_: str, **attributes: Any) -> BaseElement:
    """Upright text: the plan's y runs to the rear, so text is turned back over at its own place."""
    return SVG.text(
        words, class_=class_, transform=f"translate({number(at[0])} {number(at[1])}) scale(1 -1)", **attributes
    )


def number_of(values: Mapping[str, Any], key: str) -> float | None:
    """A number out of a JSON mapping, or none."""
    value = values.get(key)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
