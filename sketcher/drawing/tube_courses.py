"""Tubes on the plan: as wide as they are, bends as arcs, their heights beside them."""

from __future__ import annotations

import math

import numpy as np
import shapely
from svgwrite.base import BaseElement
from svgwrite.container import Group

from sketcher.drawing import marks
from sketcher.geometry.path import Path, from_vertices
from sketcher.tubes.line import SpaceLine, Vector
from sketcher.tubes.runs import Run

#: A line shorter than this in plan is seen along its own length, mm.
POINT_MM = 0.01
#: A bend whose axis is so near the vertical lies level: it is a true arc in plan.
LEVEL = 1 - 1e-9


def tube_group(run: Run) -> Group | None:
    """The item of a tube. A straight drop lies within its port in plan and is not drawn.

    It has ``data-ends``: x, y and z of both ends of the tube itself (mm), which no corner of the document gives.
    """
    line = run.line.points()
    if np.ptp(line[:, :2], axis=0).max() < POINT_MM:
        return None
    path = plan_path(run.line)
    parts: list[BaseElement] = [
        *(marks.area(part, "tube") for part in shapely.get_parts(_covered(run))),
        marks.SVG.path(d=marks.path_data(path), class_="tube-line"),
        marks.text(run.id if run.kind == "tube" else f"{run.id} tube", _along(run.line, 0.5), "tag middle"),
        # Not under the name, which stands half way.
        marks.text(_heights(line), _along(run.line, 0.25), "height middle"),
    ]
    ends = " ".join(marks.number(float(v)) for end in (run.line.corners[0], run.line.corners[-1]) for v in end)
    return marks.item(run.id, run.kind, parts, ends=ends)


def plan_path(line: SpaceLine) -> Path:
    """The centreline in plan: level bends stay arcs, others are chords; what runs straight up or down is a point."""
    rows: list[tuple[float, float, float]] = []

    def to(point: Vector) -> None:
        if not rows or math.hypot(point[0] - rows[-1][0], point[1] - rows[-1][1]) > POINT_MM:
            rows.append((float(point[0]), float(point[1]), 0.0))

    bends = iter([bend for bend in line.bends if bend.radius > 0])
    for part in line.parts(5.0):
        bend = next(bends) if len(part) > 2 else None
        to(part[0])
        if bend is not None and abs(bend.normal[2]) > LEVEL:
            rows[-1] = (*rows[-1][:2], math.copysign(math.tan(math.radians(bend.angle_deg) / 4), bend.normal[2]))
            to(part[-1])
        else:
            for point in part[1:]:
                to(point)
    return from_vertices(rows, closed=False)


def _covered(run: Run) -> shapely.Geometry:
    """What the tube covers of the floor: a strip along it, a disc where it is seen along its length."""
    radius = run.outer_mm / 2
    shapes = [shapely.LineString(run.line.points(5.0)[:, :2]).buffer(radius, cap_style="flat")]
    for part in run.line.parts():
        if np.ptp(part[:, :2], axis=0).max() < POINT_MM < np.ptp(part[:, 2]):
            shapes.append(shapely.Point(part[0, :2]).buffer(radius))
    return shapely.union_all(shapes)


def _along(line: SpaceLine, share: float) -> tuple[float, float]:
    """The place in plan so far along."""
    points = line.points()
    flat = np.hypot(*np.diff(points[:, :2], axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(flat)])
    x, y = (float(np.interp(share * along[-1], along, points[:, axis])) for axis in (0, 1))
    return x, y


def _heights(line: Vector) -> str:
    """From which height to which it runs; of a level one the height."""
    low, high = float(line[:, 2].min()), float(line[:, 2].max())
    return f"z {low:.0f}" if high - low < 0.5 else f"z {line[0, 2]:.0f} → {line[-1, 2]:.0f}"
