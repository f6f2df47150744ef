"""Lines, arcs and circles of a DXF file, mm.

Read by ezdxf. The unit is the header's $INSUNITS (DXF reference, header variables: 1 inches, 4 millimetres, 5
centimetres, 6 metres). Arcs stay arcs; ellipses and splines become short lines. Blocks are taken apart. Layers that are
off or frozen are left out, as are texts, dimensions and hatches.
"""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import islice, pairwise
from typing import Any

import shapely
from ezdxf import recover
from ezdxf.document import Drawing as DxfDocument
from ezdxf.lldxf.tagger import binary_tags_loader

from sketcher.importing.outline_joining import MOST_PIECES, DrawingError, Piece, too_many
from sketcher.importing.progress import Progress, unheard
from sketcher.importing.units import Drawing, UnitUnknown, scale_of

#: $INSUNITS to our names; any other unit is asked about.
HEADER_UNITS = {1: "in", 4: "mm", 5: "cm", 6: "m"}
#: Curves become lines that stray no farther than this, in mm: less than makes a difference in a returned drawing.
CHORD_MM = 0.006
DEEPEST_BLOCKS = 8
#: Entities that are looked at, those of a block counted for each of its inserts.
MOST_ENTITIES = 60_000
#: In the first line of a binary DXF file (DXF reference, binary DXF files).
_BINARY = b" Binary DXF\r\n\x1a\0"
CURVES = {"ELLIPSE", "SPLINE"}

# What the library says of a damaged file is in its own words, and quotes the file's bytes: the user is told in ours.
logging.getLogger("ezdxf").setLevel(logging.CRITICAL + 1)


def pieces(data: bytes, unit: str | None = None, progress: Progress = unheard) -> Drawing:
    """What is drawn in model space.

    Args:
        data: the file, as text or in the binary form.
        unit: what a drawing unit is, where the header does not say.
        progress: hears how much of the largest possible drawing has been read.

    Raises:
        UnitUnknown: the header has no unit and none is given.
        DrawingError: no DXF, or too much of it.
    """
    if not data.strip():
        raise DrawingError("this is no DXF file: it is empty")
    try:
        return _drawing(*_document(data), unit, progress)
    except DrawingError:
        raise
    except Exception:
        # What a damaged file leads to within the reader is known to nobody, and its words would help nobody.
        raise DrawingError(
            "this is no DXF file that can be read: it is damaged or of another kind; save it as DXF R2010 or R2013"
        ) from None


def _drawing(document: Any, damaged: bool, unit: str | None, progress: Progress) -> Drawing:
    code = int(document.header.get("$INSUNITS", 0) or 0)
    if unit is None:
        unit = HEADER_UNITS.get(code)
    if unit is None:
        raise UnitUnknown("the DXF file does not say its unit")
    scale = scale_of(unit)
    off = {layer.dxf.name for layer in document.layers if layer.is_off() or layer.is_frozen()}
    found: list[Piece] = []
    circles: list[tuple[float, float, float]] = []
    circle_layers: list[str] = []
    skipped: dict[str, int] = {}
    for entity in _Walk(off).entities(document.modelspace()):
        kind = entity.dxftype()
        if kind == "CIRCLE" and entity.dxf.radius <= 0:
            skipped["CIRCLE without a radius"] = skipped.get("CIRCLE without a radius", 0) + 1
        elif kind == "CIRCLE":
            centre = entity.dxf.center if entity.dxf.extrusion.z > 0 else entity.ocs().to_wcs(entity.dxf.center)
            circles.append((centre.x * scale, centre.y * scale, 2 * entity.dxf.radius * scale))
            circle_layers.append(entity.dxf.get("layer", "0"))
        elif kind in ("LINE", "ARC") or kind in CURVES:
            layer = entity.dxf.get("layer", "0")
            try:
                found.extend(replace(piece, layer=layer) for piece in _pieces_of(entity, scale))
            except DrawingError:
                raise
            except Exception:  # a damaged curve fails in whatever way its numbers lead to; it is named, not passed over
                skipped[f"{kind} that is damaged"] = skipped.get(f"{kind} that is damaged", 0) + 1
        else:
            skipped[kind] = skipped.get(kind, 0) + 1
        if len(found) + len(circles) > MOST_PIECES:
            raise too_many()
        progress((len(found) + len(circles)) / MOST_PIECES)
    if not all(math.isfinite(v) for p in found for v in (*p.start, *p.end, p.bulge)) or not all(
        math.isfinite(v) for circle in circles for v in circle
    ):
        raise DrawingError("the drawing has places that are no numbers; save it again")
    messages = [f"Left out: {count} {kind}." for kind, count in sorted(skipped.items())]
    if damaged:
        messages.append("The file had errors that were passed over; compare the outline with the drawing.")
    return Drawing(tuple(found), tuple(circles), unit, tuple(messages), tuple(circle_layers))


def _document(data: bytes) -> tuple[Any, bool]:
    """The DXF document, and whether it had errors."""
    if _BINARY in data[:30]:
        document = DxfDocument.load(binary_tags_loader(data))
        return document, document.audit().has_errors
    document, auditor = recover.read(io.BytesIO(data))
    return document, auditor.has_errors


class _Walk:
    """Entities with their blocks taken apart, arrays of inserts in full; counted, so that it ends."""

    def __init__(self, off: set[str]) -> None:
        self.off = off
        self.count = 0

    def entities(self, layout: Iterable[Any], depth: int = 0) -> Iterator[Any]:
        """What is drawn. Raises DrawingError for blocks too deep or too many."""
        for entity in layout:
            self.count += 1
            if self.count > MOST_ENTITIES:
                raise DrawingError(f"the drawing has more than {MOST_ENTITIES} parts; take out what is not the floor")
            kind = entity.dxftype()
            if not _readable(entity) or entity.dxf.get("layer", "0") in self.off or entity.dxf.get("invisible", 0):
                continue
            if kind in ("LWPOLYLINE", "POLYLINE"):
                if kind == "POLYLINE" and not entity.is_2d_polyline and not entity.is_3d_polyline:
                    continue
                yield from entity.virtual_entities()
            elif kind == "INSERT":
                if depth >= DEEPEST_BLOCKS:
                    raise DrawingError(
                        f"the drawing has blocks within blocks more than {DEEPEST_BLOCKS} deep; explode them"
                    )
                # An insert with rows and columns is as many inserts; each of them takes its block apart.
                for one in entity.multi_insert() if entity.mcount > 1 else (entity,):
                    yield from self.entities(one.virtual_entities(), depth + 1)
            else:
                yield entity


def _readable(entity: Any) -> bool:
    """Whether the reader knows this kind of entity at all; a damaged name makes one that it does not."""
    return bool(entity.dxf.is_supported("layer"))


def _pieces_of(entity: Any, scale: float) -> Iterator[Piece]:
    kind = entity.dxftype()
    if kind == "LINE":
        start, end = entity.dxf.start, entity.dxf.end
        yield Piece((start.x * scale, start.y * scale), (end.x * scale, end.y * scale))
    elif kind == "ARC":
        start, end = entity.start_point, entity.end_point
        angle = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0 or 360.0)
        sense = 1.0 if entity.dxf.extrusion.z > 0 else -1.0
        one, other = (start.x * scale, start.y * scale), (end.x * scale, end.y * scale)
        if angle > math.radians(300):  # a bulge of nearly a whole turn is ill-defined: two halves instead
            centre = entity.ocs().to_wcs(entity.dxf.center)
            middle = _turned((centre.x * scale, centre.y * scale), one, sense * angle / 2)
            half = sense * math.tan(angle / 8)
            yield Piece(one, middle, half)
            yield Piece(middle, other, half)
        else:
            yield Piece(one, other, sense * math.tan(angle / 4))
    else:
        # The curve's own points: a path made of it would be cubics near a rational spline.
        curve = entity.construction_tool() if kind == "SPLINE" else entity
        points = curve.flattening(CHORD_MM / 3 / scale, 4)
        flat = [(p.x * scale, p.y * scale) for p in islice(points, MOST_PIECES + 2)]
        if len(flat) > MOST_PIECES + 1:
            raise too_many()
        # A spline is cut much finer than it needs: pieces shorter than a gap that is closed could not be told from one.
        for one, other in pairwise(
            shapely.LineString(flat).simplify(CHORD_MM * 2 / 3).coords if len(flat) > 2 else flat
        ):
            yield Piece((one[0], one[1]), (other[0], other[1]))


def _turned(centre: tuple[float, float], point: tuple[float, float], angle: float) -> tuple[float, float]:
    c, s = math.cos(angle), math.sin(angle)
    x, y = point[0] - centre[0], point[1] - centre[1]
    return (centre[0] + c * x - s * y, centre[1] + s * x + c * y)
