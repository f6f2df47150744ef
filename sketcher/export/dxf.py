"""DXF R2010 in mm: LWPOLYLINE with bulges, CIRCLE, LINE; the same bytes for the same sheet on any day."""

from __future__ import annotations

import io

import ezdxf
from ezdxf import options, units
from ezdxf.document import Drawing
from ezdxf.layouts import Modelspace

from sketcher.export.sheet import Entity, Sheet

#: Coordinates are written to the tenth of a micrometre, so that arithmetic's last digit never shows.
DIGITS = 7


def dxf(sheet: Sheet) -> bytes:
    """The sheet as a DXF file."""
    drawing = ezdxf.new("R2010", setup=False)
    drawing.units = units.MM
    drawing.header["$INSUNITS"] = 4
    drawing.header["$MEASUREMENT"] = 1
    left, front, right, rear = sheet.box()
    drawing.header["$EXTMIN"], drawing.header["$EXTMAX"] = (left, front, 0), (right, rear, 0)
    for layer in sheet.layers:
        made = drawing.layers.add(layer.name, color=layer.colour)
        made.description = layer.about
    space = drawing.modelspace()
    for entity in sheet.entities:
        _add(space, entity)
    return _bytes(drawing)


def _add(space: Modelspace, entity: Entity) -> None:
    place = {"layer": entity.layer}
    if entity.round is not None:
        (x, y), radius = entity.round
        space.add_circle((_n(x), _n(y)), _n(radius), dxfattribs=place)
        return
    segments = entity.path.segments
    if len(segments) == 1 and segments[0].straight:
        (x0, y0), (x1, y1) = segments[0].start, segments[0].end
        space.add_line((_n(x0), _n(y0)), (_n(x1), _n(y1)), dxfattribs=place)
        return
    vertices = [(_n(x), _n(y), round(bulge, 12) + 0.0) for x, y, bulge in entity.path.vertices()]
    space.add_lwpolyline(vertices, format="xyb", close=entity.path.closed, dxfattribs=place)


def _n(value: float) -> float:
    return round(value, DIGITS) + 0.0


def _bytes(drawing: Drawing) -> bytes:
    """The file's bytes without the moment at which it was written, which ezdxf otherwise puts in."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        stream = io.StringIO()
        drawing.write(stream)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return stream.getvalue().encode("utf-8")
