"""The search: attempts in one style after another, each judged by the rules; the best few that differ truly."""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import shapely

from sketcher.checks.hold_seal import screw_walls
from sketcher.document import Document
from sketcher.document.joined import open_connections
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.proposing.attempt import Table
from sketcher.proposing.clearances import Section
from sketcher.proposing.courses import STYLES, Style
from sketcher.proposing.judging import Judged, judge, numbers
from sketcher.proposing.negotiation import Prices
from sketcher.proposing.sections import depths, widths
from sketcher.proposing.wishes import Wishes
from sketcher.proposing.writing import with_screws, without_channels

#: So many proposals are kept, and so far two must lie apart somewhere to count as two, mm.
MOST_KEPT = 5
APART_MM = 12.0


@dataclass(frozen=True)
class Proposal:
    """One way to lay the plate out, judged, with the style and the section it was laid in."""

    judged: Judged
    style: Style
    section: Section
    score: float

    @property
    def document(self) -> Document:
        """The plate with the proposed channels."""
        return self.judged.document


@dataclass
class Found:
    """What a search found: the best first."""

    proposals: list[Proposal] = field(default_factory=list)
    attempts: int = 0
    seconds: float = 0.0

    @property
    def best(self) -> Proposal | None:
        """The proposal to take when none is chosen."""
        return self.proposals[0] if self.proposals else None


def propose(
    document: Document,
    wishes: Wishes,
    *,
    stop: Callable[[], bool] = lambda: False,
    progress: Callable[[Found], None] = lambda found: None,
) -> Found:
    """Lays out channels for all that ``loop.connections`` asks for.

    Args:
        document: the plate.
        wishes: weights, style, section, time.
        stop: asked between nets; true ends the search with what it has.
        progress: told of every proposal that is better than those before.
    """
    begun = time.monotonic()
    found = Found()
    base = _base(document, wishes)
    if not open_connections(base):
        found.proposals = [Proposal(judge(base), "free", Section(0.0, 0.0), 0.0)]
        return found

    def ended() -> bool:
        return stop() or time.monotonic() - begun > wishes.seconds

    for table, prices, seed in _attempts(base, wishes):
        if ended() and found.attempts:
            break
        attempt = table.attempt(prices, seed, lambda: ended() and found.attempts > 0)
        found.attempts += 1
        proposal = _judged(attempt.document, table, wishes)
        if _added(found.proposals, proposal, base):
            found.seconds = time.monotonic() - begun
            progress(found)
        if _enough(found, wishes):
            break
    found.seconds = time.monotonic() - begun
    return found


def _base(document: Document, wishes: Wishes) -> Document:
    """The plate without what is to be laid anew."""
    if not wishes.anew:
        return document
    wanted = {id_ for connection in document.loop.connections for id_ in connection}
    branches = {branch.id for branch in document.branches if not branch.locked}
    movable = wanted | branches
    gone = [
        channel.id
        for channel in document.channels
        if not channel.locked and channel.start in movable and channel.end in movable
    ]
    return without_channels(document, gone)


def _attempts(base: Document, wishes: Wishes) -> Iterator[tuple[Table, Prices, int]]:
    """What is tried, in turn: every style at the width wished for, then narrower, then other seeds and prices."""
    chance = random.Random(wishes.seed)
    limits = limits_of(base)
    styles: Sequence[Style] = STYLES if wishes.style is None else (wishes.style,)
    tables: dict[tuple[Style, Section], Table] = {}
    usual = _prices(wishes, 1.0)
    sections = [Section(width, depth) for width in widths(base, wishes) for depth in depths(base, wishes, width)]
    for round_ in range(1_000):
        for section in sections:
            for style in styles:
                key = (style, section)
                if key not in tables:
                    tables[key] = Table(base, limits, section, style)
                prices = usual if round_ == 0 else _prices(wishes, chance.choice((0.3, 0.6, 1.0, 2.0)))
                yield tables[key], prices, wishes.seed if round_ == 0 else chance.randrange(1 << 30)


def _prices(wishes: Wishes, factor: float) -> Prices:
    """Prices of turns in mm of length: what a bend loses, and what it counts for the look."""
    weight = max(wishes.loss + wishes.length, 1e-6)
    quarter = factor * (30.0 * wishes.loss + 40.0 * wishes.bends) / weight
    return Prices(eighth_mm=0.45 * quarter, quarter_mm=quarter)


def _judged(document: Document, table: Table, wishes: Wishes) -> Proposal:
    complete = with_screws(document, screw_walls(table.limits))
    judged = judge(complete)
    figures = judged.numbers
    per_mm = 1 / 100.0
    score = (
        1e6 * len(judged.unconnected)
        + 1e3 * len(judged.errors)
        + wishes.loss * figures.loss_kpa * 10
        + wishes.length * figures.length_mm * per_mm
        + wishes.bends * figures.bends
        + 0.2 * sum(1 for finding in judged.findings if finding.level == "warning" and not finding.accepted)
    )
    return Proposal(judged, table.style, table.section, score)


def _added(kept: list[Proposal], new: Proposal, base: Document) -> bool:
    """Keeps a proposal when it is among the best few that differ; whether it was kept."""
    for index, old in enumerate(kept):
        if not differ(old.document, new.document, base):
            if new.score < old.score - 1e-9:
                kept[index] = new
                kept.sort(key=lambda one: one.score)
                return True
            return False
    kept.append(new)
    kept.sort(key=lambda one: one.score)
    if any(one.judged.good for one in kept):
        kept[:] = [one for one in kept if one.judged.good]
    del kept[MOST_KEPT:]
    return new in kept


def differ(one: Document, other: Document, base: Document) -> bool:
    """Whether two plates' new channels lie apart somewhere, or differ in section."""
    before = {channel.id for channel in base.channels}
    lines = []
    for document in (one, other):
        shapes = build(document)
        parts = [shapely.LineString(c.path.points(0.1)) for id_, c in shapes.channels.items() if id_ not in before]
        lines.append(shapely.MultiLineString(parts))
    if lines[0].is_empty or lines[1].is_empty:
        return lines[0].is_empty != lines[1].is_empty
    sections = [{(c.width_mm, c.depth_mm) for c in d.channels if c.id not in before} for d in (one, other)]
    return sections[0] != sections[1] or _apart(*lines) > APART_MM


def _apart(one: shapely.MultiLineString, other: shapely.MultiLineString) -> float:
    """The farthest that a place on one lies from the other, mm."""
    return float(shapely.hausdorff_distance(one, other, densify=0.2))


def _enough(found: Found, wishes: Wishes) -> bool:
    """Whether more attempts would add little: a few good proposals, and each style tried some times."""
    good = sum(1 for one in found.proposals if one.judged.good)
    return found.attempts >= 9 and good >= 3


__all__ = ["Found", "Proposal", "differ", "numbers", "propose"]
