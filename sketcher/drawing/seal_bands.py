"""The room that groove and screws need around the coolant, drawn as bands under the channels.

Each band is a wide stroke along a channel, or a disc around a port, and all of one kind stand in a group that is made
see-through as a whole: so the union shows without being worked out, and the page can let a band follow its channel in
the same frame.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import shapely
from svgwrite.base import BaseElement

from sketcher.document.remembered import Remembered
from sketcher.drawing import marks
from sketcher.geometry import Shapes
from sketcher.geometry.shapes import ChannelShape
from sketcher.strength.needs import room_beyond
from sketcher.strength.seal import gland_of, groove_heights, wet_prisms


def rooms(shapes: Shapes) -> Iterator[str]:
    """The texts of two groups, the screws' room below the groove's; none where the seal cannot be. Each band is
    remembered by what it goes around."""
    document = shapes.document
    beyond = room_beyond(document)
    if beyond is None:
        return
    low, high = groove_heights(document, gland_of(document)[0])
    wet = [row for row in wet_prisms(document, shapes, low, high) if row[0].part != "channel"]
    for name, far in zip(("screws", "groove"), reversed(beyond), strict=True):
        if far <= 0:
            continue
        bands = [
            _bands.of((channel,), far, partial(_band, id_, channel, far))
            for id_, channel in shapes.channels.items()
            if channel.path.segments
        ]
        for prism, drawn_in in wet:
            if isinstance(prism.core, shapely.Point):
                radius = prism.radius - drawn_in + far
                bands.append(_bands.of((prism,), radius, partial(_disc, prism.id, prism.core, radius)))
        start = f'<g class="room room-{name}" data-beyond="{marks.number(far)}"'
        yield f"{start}>{''.join(bands)}</g>" if bands else f"{start} />"


_bands: Remembered[str] = Remembered()


def _band(id_: str, channel: ChannelShape, far: float) -> str:
    width = marks.number(channel.item.width_mm + 2 * far)
    return _around(id_, marks.drawn(channel.path, "room-band", stroke_width=width))


def _disc(id_: str, centre: shapely.Point, radius: float) -> str:
    return _around(id_, marks.disc((centre.x, centre.y), radius, "room-disc"))


def _around(id_: str, band: BaseElement) -> str:
    group = marks.group("room-of", around=id_)
    group.add(band)
    return str(group.tostring())
