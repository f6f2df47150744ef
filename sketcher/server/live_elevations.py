"""The elevations in the live answer, as models."""

from __future__ import annotations

from sketcher.server.live_survey import Part


class SeenItem(Part):
    """A thing in an elevation: its extent in the picture (left, low, right, high) and away from the eye, mm."""

    id: str
    kind: str
    box: list[float]
    near: float
    far: float


class MovedValue(Part):
    """A number of the document, by JSON pointer, and what a drag of one mm adds to it."""

    pointer: str
    per_mm: float


class ItemMove(Part):
    """What a drag up, and to the right of the picture, changes."""

    up: list[MovedValue]
    right: list[MovedValue]


class ElevationAnswer(Part):
    """The case seen level as SVG in mm, heights up; `axis` runs across the picture, to the right if `sign` is 1.

    `items` stand in the order in which they are drawn, the farthest first; `moves` has the items that can be dragged,
    and a tube's corners as `T1/0`.
    """

    svg: str
    box: list[float]
    axis: str
    sign: int
    items: list[SeenItem]
    moves: dict[str, ItemMove]
