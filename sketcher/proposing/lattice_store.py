"""The lattices of one plate for every style, section and look, each made once: they take a good part of a search."""

from __future__ import annotations

import copy

from sketcher.document import Document
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.geometry.path import Point
from sketcher.geometry.shapes import ChannelShape
from sketcher.proposing.attempt import Table
from sketcher.proposing.budget import PER_EDGE_S, Budget
from sketcher.proposing.courses import STYLES, Style
from sketcher.proposing.looks import LOOKS, Axis, Look
from sketcher.proposing.rule_distances import Section
from sketcher.proposing.wishes import Wishes

_TWINS: dict[Style, Style] = {"square": "diagonal", "diagonal": "square"}


class Tables:
    """The lattices of one plate, each made once: they take a good part of an attempt's time."""

    def __init__(self, base: Document, before: Document, wishes: Wishes, budget: Budget) -> None:
        self.base, self.budget = base, budget
        self.limits = limits_of(base)
        self.axis: Axis | None = None
        if wishes.line_x_mm is not None:
            self.axis = Axis("x", wishes.line_x_mm)
        elif wishes.line_y_mm is not None:
            self.axis = Axis("y", wishes.line_y_mm)
        kept = {channel.id for channel in base.channels}
        #: Corners of the channels that are laid again.
        self.drawn = [_corners(c) for id_, c in build(before).channels.items() if id_ not in kept and c.path.segments]
        self._made: dict[tuple[Style, Section, Look | None], Table] = {}

    def of(self, style: Style, section: Section, look: Look | None = None) -> Table:
        """The table of a style, a section and a look."""
        key = (style, section, look)
        if key not in self._made:
            # Courses are cut at 45° after the search: both styles run over one lattice.
            twin = self._made.get((_TWINS[style], section, look)) if style in _TWINS else None
            if twin is None:
                table = Table(self.base, self.limits, section, style, look, self.axis, self.drawn)
                self.budget.spend(PER_EDGE_S * len(table.lattice.tails))
            else:
                table = copy.copy(twin)
                table.style = style
            self._made[key] = table
        return self._made[key]

    def pulled_taut(self, section: Section) -> Table:
        """Courses pulled taut over the lattice of courses along x and y: where two want one place, lines hard by what
        they go round let them pass each other that equal squares keep in each other's way."""
        table = copy.copy(self.of("square", section))
        table.style = "free"
        return table

    def kinds(self, wishes: Wishes) -> list[tuple[Style, Look | None]]:
        """Styles and looks to try. A look needs courses along x and y: lines pulled taut keep none."""
        styles: list[Style] = list(STYLES) if wishes.style is None else [wishes.style]
        if wishes.look is not None:
            return [(style, wishes.look) for style in styles if style != "free"] or [("square", wishes.look)]
        if wishes.style == "free":
            return [("free", None)]
        looks = [look for look in LOOKS if look != "drawn" or self.drawn]
        return [*((style, None) for style in styles), *((styles[0], look) for look in looks)]


def _corners(channel: ChannelShape) -> list[Point]:
    """A channel's ends and the corners that its bends round off, mm."""
    path = channel.path
    return [path.start, *((point.x_mm, point.y_mm) for point in channel.item.points), path.end]
