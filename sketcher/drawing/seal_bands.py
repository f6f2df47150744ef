"""The room that groove and screws need around the coolant, drawn as bands under the channels.

Each band is a wide stroke along a channel, or a disc around a port, and all of one kind stand in a group that is made
see-through as a whole: so the union shows without being worked out, and the page can let a band follow its channel in
the same frame.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from svgwrite.base import BaseElement
from svgwrite.container import Group

from sketcher.drawing import marks
from sketcher.geometry import Shapes
from sketcher.strength.needs import room_beyond
from sketcher.strength.seal import gland_of, groove_heights, wet_prisms


def rooms(shapes: Shapes) -> Iterator[Group]:
    """Two groups, the screws' room below the groove's; none where the seal cannot be."""
    document = shapes.document
    beyond = room_beyond(document)
    if beyond is None:
        return
    low, high = groove_heights(document, gland_of(document)[0])
    wet = [row for row in wet_prisms(document, shapes, low, high) if row[0].part != "channel"]
    for name, far in zip(("screws", "groove"), reversed(beyond), strict=True):
        if far <= 0:
            continue
        made = marks.group(f"room room-{name}", beyond=marks.number(far))
        for id_, channel in shapes.channels.items():
            if channel.path.segments:
                width = marks.number(channel.item.width_mm + 2 * far)
                band = marks.drawn(channel.path, "room-band", stroke_width=width)
                made.add(_around(id_, band))
        for prism, drawn_in in wet:
            if isinstance(prism.core, shapely.Point):
                radius = prism.radius - drawn_in + far
                made.add(_around(prism.id, marks.disc((prism.core.x, prism.core.y), radius, "room-disc")))
        yield made


def _around(id_: str, band: BaseElement) -> Group:
    group = marks.group("room-of", around=id_)
    group.add(band)
    return group
