"""Widths and depths that a new channel may have: what the user wants, or what body, threads and cutters allow."""

from __future__ import annotations

from sketcher.document import Document
from sketcher.findings import limits_of
from sketcher.proposing.rule_distances import Section
from sketcher.proposing.wishes import WIDTHS_MM, Wishes

#: Steps in which a depth is chosen, mm.
_STEP_MM = 0.5
#: What a shallower channel has of the depth, where only the depth is left open. Common practice, no source.
_SHALLOWER = 0.75


def thrifty(wishes: Wishes) -> bool:
    """Whether time at the machine counts most: then the narrowest section that keeps the flow is wanted."""
    return wishes.width_mm is None and wishes.milling > wishes.loss


def widths(document: Document, wishes: Wishes) -> list[float]:
    """Widths to try, mm, the one wanted most first."""
    if wishes.width_mm is not None:
        return [wishes.width_mm]
    drawn = [channel.width_mm for channel in document.channels]
    usual = max(set(drawn), key=drawn.count) if drawn else None
    found = [width for width in WIDTHS_MM if usual is None or width <= usual + 1e-9]
    if thrifty(wishes):
        return found[::-1]
    return list(dict.fromkeys([*([usual] if usual is not None else []), *found]))


def depths(document: Document, wishes: Wishes, width_mm: float) -> list[float]:
    """Depths to try for a width, mm."""
    if wishes.depth_mm is not None:
        return [wishes.depth_mm]
    return [max(min(width_mm, deepest(document, width_mm)), _STEP_MM)]


def thinner(document: Document, wishes: Wishes, section: Section) -> list[Section]:
    """The next section below one that leaves less to mill, as far as the user left width or depth open; one or none."""
    narrower = [width for width in widths(document, wishes) if width < section.width_mm - 1e-9]
    if narrower:
        width = max(narrower)
        return [Section(width, depth) for depth in depths(document, wishes, width)]
    shallower = int(_SHALLOWER * section.depth_mm / _STEP_MM) * _STEP_MM
    return [Section(section.width_mm, shallower)] if wishes.depth_mm is None and shallower >= _STEP_MM else []


def deepest(document: Document, width_mm: float) -> float:
    """The deepest that a channel of this width can be, mm: floor, threads above it, and the cutter's reach."""
    plate, limits = document.plate, limits_of(document)
    most = plate.body_thickness_mm - limits["depth-under-channel"]
    for port in document.ports:
        if port.thread is not None and port.face not in ("edge", plate.lid_face):
            most = min(most, plate.body_thickness_mm - port.thread_depth_mm - limits.get("thread-reaches-channel", 0.0))
    fits = [d for d in document.shop.cutter_diameters_mm if d <= width_mm + 1e-9]
    if fits:
        most = min(most, max(fits) * document.shop.deepest_by_diameter)
    return int(most / _STEP_MM + 1e-9) * _STEP_MM
