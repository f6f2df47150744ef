"""The shapes of an SVG file where they are drawn: groups, transforms, clones (``<use>``) and drawings within drawings.

SVG 1.1, sections 5 (structure), 7.2 (viewports), 7.6 (transforms) and 7.8 (preserveAspectRatio). What a nested drawing
clips away comes in all the same: it is for the user to leave out. Clones are followed as deep as they go, but not round
in a ring, and not without end.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass, replace

from sketcher.importing.outline_joining import DrawingError
from sketcher.importing.svg_path import NUMBER, Matrix, product

SVG = "{http://www.w3.org/2000/svg}"
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
GROUPS = {"svg", "g", "a", "switch"}
HIDDEN = {
    "defs", "symbol", "clipPath", "mask", "marker", "pattern", "metadata", "title", "desc", "style", "text", "image",
    "linearGradient", "radialGradient", "filter",
}  # fmt: skip
DEEPEST = 200
#: Elements that are looked at, clones counted each time.
MOST_ELEMENTS = 200_000
#: User units of the absolute units within a drawing: CSS pixels of 1/96 inch (CSS Values and Units, section 6.2).
_PIXELS = {"": 1.0, "px": 1.0, "mm": 96 / 25.4, "cm": 960 / 25.4, "in": 96.0, "pt": 96 / 72, "pc": 16.0}
_NUMBER = re.compile(NUMBER)
_LENGTH = re.compile(rf"\s*+({NUMBER})\s*+([a-zA-Z%]*+)\s*+$")
_TRANSFORM = re.compile(r"[\s,]*+(matrix|translate|scale|rotate|skewX|skewY)\s*+\(([^()]*+)\)[\s,]*+")
_SPACE = re.compile(r"\s")


@dataclass(frozen=True)
class _Visit:
    """An element on the way down: the matrix and size around it, its depth, its layer, and the clones it is in."""

    element: ET.Element
    outer: Matrix
    view: tuple[float, float]
    depth: int = 0
    layer: str = ""
    clones: tuple[str, ...] = ()
    shown: bool = False  # a clone shows what stands among the definitions


def shapes(root: ET.Element, matrix: Matrix, skipped: dict[str, int]) -> Iterator[tuple[ET.Element, Matrix, str]]:
    """Each shape with its matrix and its layer: the id of the innermost group that has one.

    Args:
        root: the outermost ``<svg>``.
        matrix: from its user units to the floor's.
        skipped: counts the kinds that are left out.

    Raises:
        DrawingError: nested too deep, cloned in a ring, or more than anybody draws.
    """
    named = {id_: element for element in root.iter() if (id_ := element.get("id"))}
    stack = [_Visit(root, matrix, _root_size(root))]
    count = 0
    while stack:
        visit = stack.pop()
        element, tag = visit.element, local(visit.element)
        count += 1
        if count > MOST_ELEMENTS:
            raise DrawingError("the SVG file draws too much by its clones; turn them into objects of their own")
        if visit.depth > DEEPEST:
            raise DrawingError("the SVG file nests its groups too deep; ungroup it")
        if (tag in HIDDEN and not visit.shown) or _hidden(element):
            if tag in ("text", "image"):
                skipped[tag] = skipped.get(tag, 0) + 1
            continue
        inner = product(visit.outer, transform(element.get("transform", "")))
        if tag == "use":
            clone = _cloned(visit, inner, named)
            if clone is None:
                skipped["use"] = skipped.get("use", 0) + 1
            else:
                stack.append(clone)
        elif tag in GROUPS or tag == "symbol":
            own, view = inner, visit.view
            if tag == "symbol" or (tag == "svg" and visit.depth > 0):
                own, view = _viewport(element, inner, view)
            layer = element.get("id", visit.layer) if tag == "g" else visit.layer
            deeper = replace(visit, outer=own, view=view, depth=visit.depth + 1, layer=layer, shown=False)
            stack.extend(replace(deeper, element=child) for child in reversed(element) if isinstance(child.tag, str))
        elif tag in SHAPES:
            yield element, inner, visit.layer
        elif element.tag.startswith(SVG):
            skipped[tag] = skipped.get(tag, 0) + 1


def _cloned(visit: _Visit, inner: Matrix, named: dict[str, ET.Element]) -> _Visit | None:
    """What a ``<use>`` shows, moved to where it is; none where it names nothing in this file."""
    element = visit.element
    link = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""
    target = named.get(link[1:]) if link.startswith("#") else None
    if target is None:
        return None
    if link in visit.clones:
        raise DrawingError(f"the clone of '{link[1:40]}' contains itself; turn clones into objects of their own")
    x, y = _along(element.get("x"), visit.view[0]) or 0.0, _along(element.get("y"), visit.view[1]) or 0.0
    if local(target) in ("symbol", "svg"):
        # Its size is the clone's, where that says one (SVG 1.1, section 5.6).
        size = {key: value for key in ("width", "height") if (value := element.get(key)) is not None}
        resized = ET.Element(target.tag, {**target.attrib, **size})
        resized.extend(list(target))
        target = resized
    return replace(
        visit,
        element=target,
        outer=product(inner, (1.0, 0.0, 0.0, 1.0, x, y)),
        depth=visit.depth + 1,
        clones=(*visit.clones, link),
        shown=local(target) == "symbol",
    )


def _viewport(element: ET.Element, outer: Matrix, around: tuple[float, float]) -> tuple[Matrix, tuple[float, float]]:
    """The matrix within a nested drawing, and its size in its own units."""
    x, y = _along(element.get("x"), around[0]) or 0.0, _along(element.get("y"), around[1]) or 0.0
    width, height = _along(element.get("width"), around[0]), _along(element.get("height"), around[1])
    width, height = around[0] if width is None else width, around[1] if height is None else height
    moved = product(outer, (1.0, 0.0, 0.0, 1.0, x, y))
    view = [float(v) for v in _NUMBER.findall(element.get("viewBox", "")[:200])]
    if len(view) != 4 or view[2] <= 0 or view[3] <= 0:
        return moved, (width, height)
    left, top, across, down = view
    sx, sy = width / across, height / down
    align, *how = (element.get("preserveAspectRatio") or "xMidYMid").split() or ["xMidYMid"]
    dx = dy = 0.0
    if align != "none":
        scale = max(sx, sy) if how[:1] == ["slice"] else min(sx, sy)
        share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
        dx = share.get(align[1:4], 0.5) * (width - scale * across)
        dy = share.get(align[5:8], 0.5) * (height - scale * down)
        sx = sy = scale
    return product(moved, (sx, 0.0, 0.0, sy, dx - sx * left, dy - sy * top)), (across, down)


def _root_size(root: ET.Element) -> tuple[float, float]:
    view = [float(v) for v in _NUMBER.findall(root.get("viewBox", "")[:200])]
    if len(view) == 4:
        return view[2], view[3]
    return _along(root.get("width"), 100.0) or 100.0, _along(root.get("height"), 100.0) or 100.0


def _along(text: str | None, whole: float) -> float | None:
    """A length in user units; a percentage is of the drawing around it."""
    match = _LENGTH.match(text[:100]) if text else None
    if match is None:
        return None
    value, unit = float(match[1]), match[2]
    if unit == "%":
        return value / 100 * whole
    if unit not in _PIXELS:
        raise DrawingError(
            f"the length '{text[:30] if text else ''}' is in a unit that is not known here; use plain SVG"
        )
    return value * _PIXELS[unit]


def _hidden(element: ET.Element) -> bool:
    style = _SPACE.sub("", element.get("style", ""))
    return (
        element.get("display") == "none"
        or element.get("visibility") == "hidden"
        or "display:none" in style
        or "visibility:hidden" in style
    )


def transform(text: str) -> Matrix:
    """The matrix of a ``transform``. Raises DrawingError."""
    matrix, position, end = IDENTITY, 0, len(text.rstrip(" ,\t\r\n"))
    while position < end:
        match = _TRANSFORM.match(text, position)
        if match is None:
            raise DrawingError(f"the transform '{text[:60]}' cannot be read; save the file as plain SVG")
        matrix = product(matrix, _one_transform(match[1], [float(v) for v in _NUMBER.findall(match[2])]))
        position = match.end()
    return matrix


def _one_transform(kind: str, v: list[float]) -> Matrix:
    match kind, len(v):
        case "matrix", 6:
            return (v[0], v[1], v[2], v[3], v[4], v[5])
        case "translate", 1 | 2:
            return (1.0, 0.0, 0.0, 1.0, v[0], v[1] if len(v) > 1 else 0.0)
        case "scale", 1 | 2:
            return (v[0], 0.0, 0.0, v[-1], 0.0, 0.0)
        case "rotate", 1 | 3:
            c, s = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
            x, y = (v[1], v[2]) if len(v) == 3 else (0.0, 0.0)
            return (c, s, -s, c, x - c * x + s * y, y - s * x - c * y)
        case "skewX", 1:
            return (1.0, 0.0, math.tan(math.radians(v[0])), 1.0, 0.0, 0.0)
        case "skewY", 1:
            return (1.0, math.tan(math.radians(v[0])), 0.0, 1.0, 0.0, 0.0)
    raise DrawingError(f"the transform {kind} has {len(v)} numbers; save the file as plain SVG")


def local(element: ET.Element) -> str:
    """An element's name without its namespace."""
    return element.tag.rsplit("}", 1)[-1] if isinstance(element.tag, str) else ""
