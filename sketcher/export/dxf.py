"""DXF in mm: LWPOLYLINE with bulges, CIRCLE, LINE; the same bytes for the same sheet on any day.

R2010 is the usual kind. R12, for old controls, has POLYLINE instead, no unit of its own, and layer names of at most 31
letters, digits, ``_``, ``-`` and ``$`` (DXF reference, release 12).

An entity's handle comes from its layer, its item and its number among that item's entities there. So a change to one
item changes the lines of that item in the file, and no other.
"""

from __future__ import annotations

import hashlib
import io
import re
import threading
from collections import Counter
from dataclasses import replace

import ezdxf
from ezdxf import options, units
from ezdxf.document import Drawing
from ezdxf.layouts import Modelspace

from sketcher.export.sheet import Entity, ExportError, Sheet

#: What is written; the first is the usual one.
VERSIONS = ("R2010", "R12")
#: The longest layer name that R12 allows.
_R12_NAME = 31

#: Coordinates are written to the tenth of a micrometre, so that arithmetic's last digit never shows.
DIGITS = 7
#: Handles of entities are spread over these, out of the way of those that ezdxf gives to tables and objects.
_FIRST_HANDLE, _HANDLES = 0x10000000, 0x10000000
#: The setting that keeps the time of day out of a file belongs to the whole process.
_WRITING = threading.Lock()


def dxf(sheet: Sheet, version: str = "R2010") -> bytes:
    """The sheet as a DXF file.

    Raises:
        ExportError: no such version is written.
    """
    if version not in VERSIONS:
        raise ExportError(f"DXF {version!r} is not written; choose {' or '.join(VERSIONS)}")
    if version == "R12":
        sheet = with_r12_names(sheet)
    # ezdxf writes the time of day into a file both when it is begun and when it is written.
    with _WRITING:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            stream = io.StringIO()
            _drawing(sheet, version).write(stream)
        finally:
            options.write_fixed_meta_data_for_testing = before
    return stream.getvalue().encode("utf-8")


def with_r12_names(sheet: Sheet) -> Sheet:
    """The sheet with layer names that R12 allows; names that would be the same get a number."""
    names: dict[str, str] = {}
    for layer in sheet.layers:
        plain = re.sub(r"[^A-Z0-9_$-]", "_", layer.name.upper())
        name, number = plain[:_R12_NAME], 1
        while name in names.values():
            number += 1
            name = f"{plain[: _R12_NAME - len(str(number)) - 1]}_{number}"
        names[layer.name] = name
    return replace(
        sheet,
        layers=tuple(replace(layer, name=names[layer.name]) for layer in sheet.layers),
        entities=tuple(replace(entity, layer=names[entity.layer]) for entity in sheet.entities),
    )


def _drawing(sheet: Sheet, version: str) -> Drawing:
    drawing = ezdxf.new(version, setup=False)
    if version != "R12":
        drawing.units = units.MM
        drawing.header["$INSUNITS"] = 4
        drawing.header["$MEASUREMENT"] = 1
    left, front, right, rear = (_n(value) for value in sheet.box())
    for layer in sheet.layers:
        made = drawing.layers.add(layer.name, color=layer.colour)
        made.description = layer.about
        if layer.role == "note" and version != "R12":
            made.dxf.plot = 0
    space = drawing.modelspace()
    space.dxf.extmin, space.dxf.extmax = (left, front, 0), (right, rear, 0)
    handles = _Handles()
    for entity in sheet.entities:
        _add(space, entity, handles.of(entity))
    # ezdxf lists the kinds in use in the order of a set, which is another in every process: here they come by name.
    for kind in sorted(drawing.entitydb.dxf_types_in_use()):
        drawing.classes.add_class(kind)
    drawing.entitydb.handles.reset(f"{_FIRST_HANDLE + 2 * _HANDLES:X}")
    return drawing


class _Handles:
    """A handle for each entity that depends on nothing but the entity's own name."""

    def __init__(self) -> None:
        self._counts: Counter[tuple[str, str]] = Counter()
        self._taken: set[int] = set()

    def of(self, entity: Entity) -> str:
        name = (entity.layer, entity.item)
        words = f"{entity.layer}\n{entity.item}\n{self._counts[name]}"
        self._counts[name] += 1
        handle = int.from_bytes(hashlib.sha256(words.encode()).digest()[:4]) % _HANDLES
        while handle in self._taken:
            handle = (handle + 1) % _HANDLES
        self._taken.add(handle)
        return f"{_FIRST_HANDLE + handle:X}"


def _add(space: Modelspace, entity: Entity, handle: str) -> None:
    attributes = {"layer": entity.layer, "handle": handle}
    if entity.round is not None:
        (x, y), radius = entity.round
        space.add_circle((_n(x), _n(y)), _n(radius), dxfattribs=attributes)
        return
    segments = entity.path.segments
    if len(segments) == 1 and segments[0].straight:
        (x0, y0), (x1, y1) = segments[0].start, segments[0].end
        space.add_line((_n(x0), _n(y0)), (_n(x1), _n(y1)), dxfattribs=attributes)
        return
    vertices = [(_n(x), _n(y), round(bulge, 12) + 0.0) for x, y, bulge in entity.path.vertices()]
    if space.doc is not None and space.doc.dxfversion == "AC1009":
        space.add_polyline2d(vertices, format="xyb", close=entity.path.closed, dxfattribs=attributes)
    else:
        space.add_lwpolyline(vertices, format="xyb", close=entity.path.closed, dxfattribs=attributes)


def _n(value: float) -> float:
    return round(value, DIGITS) + 0.0
