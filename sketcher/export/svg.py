"""SVG in true millimetres; y is turned over in one place."""

from __future__ import annotations

import math

import svgwrite

from sketcher.export.sheet import Layer, Sheet
from sketcher.geometry.path import Path

#: Colours of the layers' roles: Okabe and Ito, Color Universal Design, 2008. Hair lines, as cutting programs expect.
COLOURS = {"inner": "#0072B2", "outer": "#D55E00", "pocket": "#009E73", "mark": "#000000", "note": "#777777"}
MARGIN_MM = 2.0


def svg(sheet: Sheet) -> bytes:
    """The sheet as an SVG file: one group for each layer, its name in the group's id."""
    left, front, right, rear = sheet.box()
    left, front, right, rear = left - MARGIN_MM, front - MARGIN_MM, right + MARGIN_MM, rear + MARGIN_MM
    width, height = right - left, rear - front
    drawing = svgwrite.Drawing(
        debug=False,
        size=(f"{number(width)}mm", f"{number(height)}mm"),
        viewBox=f"{number(left)} {number(-rear)} {number(width)} {number(height)}",
    )
    drawing.set_desc(title=sheet.title, desc="; ".join(sheet.notes))
    plan = drawing.g(transform="scale(1 -1)")
    for layer in sheet.layers:
        plan.add(_group(drawing, sheet, layer))
    drawing.add(plan)
    return ('<?xml version="1.0" encoding="utf-8"?>\n' + str(drawing.tostring()) + "\n").encode("utf-8")


def _group(drawing: svgwrite.Drawing, sheet: Sheet, layer: Layer) -> svgwrite.container.Group:
    group = drawing.g(id=layer.name, fill="none", stroke=COLOURS[layer.role], stroke_width="0.1")
    if not layer.shown:
        group["display"] = "none"
    for entity in sheet.on(layer.name):
        if entity.round is not None:
            (x, y), radius = entity.round
            drawn = drawing.circle(center=(number(x), number(y)), r=number(radius))
        else:
            drawn = drawing.path(d=path_data(entity.path))
        if entity.item:
            drawn["data-item"] = entity.item
        group.add(drawn)
    return group


def number(value: float) -> str:
    """A coordinate in mm, to the nanometre and without trailing zeros."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path_data(path: Path) -> str:
    """SVG path data with true arcs.

    No arc goes farther than a quarter: SVG gives an arc by its ends and its radius, and near half a turn the last digit
    of an end would move the middle of the arc by a thousand times as much.
    """
    parts = [f"M{number(path.start[0])} {number(path.start[1])}"]
    for segment in path.segments:
        if segment.straight:
            parts.append(f"L{number(segment.end[0])} {number(segment.end[1])}")
            continue
        steps = math.ceil(abs(segment.included_angle) / (math.pi / 2) - 1e-9)
        radius, sweep = number(segment.radius), int(segment.bulge > 0)
        for step in range(1, steps + 1):
            x, y = segment.end if step == steps else segment.at(segment.length * step / steps)
            # In the plan's own axes (y to the rear) a positive angle runs counter-clockwise, as a bulge does.
            parts.append(f"A{radius} {radius} 0 0 {sweep} {number(x)} {number(y)}")
    return "".join(parts) + ("Z" if path.closed else "")
