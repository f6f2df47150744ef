"""The contour of a cut gasket: a band around every wet region, with the lid screws' holes."""

from __future__ import annotations

import shapely
from shapely.geometry import Polygon

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.reference import screws as screw_table
from sketcher.strength.seal import SealDesign, design_seal

_QUARTER = 16


def gasket_contours(document: Document, shapes: Shapes, seal: SealDesign | None = None) -> list[Polygon]:
    """What is cut from the sheet, one polygon for each piece, its openings as interiors; empty without a gasket.

    A screw hole that would leave less than its own half of material to the band's edge is cut out of the band's side.
    """
    seal = seal or design_seal(document, shapes)
    if seal.kind != "gasket" or seal.room is None or seal.plan.sealed.is_empty:
        return []
    band = seal.plan.sealed.boundary.buffer(seal.room.width_mm / 2, quad_segs=_QUARTER)
    name = document.seal.screw
    wide = screw_table.screw(name).clearance_mm if name in screw_table.names() else 4.5
    holes = [
        shapely.Point(hole.x_mm, hole.y_mm).buffer(wide / 2, quad_segs=_QUARTER)
        for hole in document.holes
        if hole.use == "lid"
    ]
    cut = band.difference(shapely.union_all(holes)) if holes else band
    return [piece for piece in shapely.get_parts(cut).tolist() if isinstance(piece, Polygon) and piece.area > 1.0]
