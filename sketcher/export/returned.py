"""A file that came back from the shop, of whichever kind, held against the plate's own."""

from __future__ import annotations

from typing import Literal

from sketcher.document import Document
from sketcher.export.readback import ReadBack, read_back
from sketcher.export.solid_compare import SolidCompared, compare_step
from sketcher.geometry import Shapes

ReturnedKind = Literal["dxf", "svg", "step"]


def returned(
    document: Document,
    shapes: Shapes,
    data: bytes,
    kind: ReturnedKind,
    *,
    sheet: str | None = None,
    unit: str | None = None,
) -> ReadBack | SolidCompared:
    """The comparison: of contours for a drawing, of faces for a solid. Arguments and errors as ``read_back`` and
    ``compare_step``; a STEP file says its own unit."""
    if kind == "step":
        return compare_step(document, shapes, data, sheet=sheet)
    return read_back(document, shapes, data, kind, sheet=sheet, unit=unit)
