"""Which proposals are kept: their scores, what each is best at, and whether two differ truly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from sketcher.document import Document
from sketcher.geometry import build
from sketcher.proposing.attempt import Table
from sketcher.proposing.courses import Style
from sketcher.proposing.judging import Judged
from sketcher.proposing.looks import Look
from sketcher.proposing.rule_distances import Section
from sketcher.proposing.wishes import Wishes

#: So many proposals are kept, and so far two must lie apart somewhere to count as two, mm.
MOST_KEPT = 5
APART_MM = 12.0
#: So much milled away counts as one bend does, mm³: about a minute of a small cutter. Common practice, no source.
_MILLED_MM3 = 5_000.0
#: What it counts that a device gets less flow than it needs: less than an error, more than all that is wished for.
_STARVED = 500.0
#: What a look that is wished for counts against bends, when all of the length has it.
_LOOK_COUNTS = 20.0
#: The same for courses as drawn: what is drawn is out of the short way as a rule, or it would not be wished for.
_DRAWN_COUNTS = 40.0
#: So near to what was drawn a course lies where it was, mm.
_AS_DRAWN_MM = 1.0
#: What a millimetre of two channels on one row of lid screws counts before it is known whether the lid holds.
_CROWDED = 0.2


@dataclass(frozen=True)
class Proposal:
    """One way to lay the plate out, judged, with the style and the section it was laid in.

    ``whole``: its lid screws were designed and all rules have run, not the quick ones alone. ``crowded_mm``: length
    along which one row of screws would have to hold two channels. ``as_drawn``: share of its length that lies where
    channels were drawn, when it was to.
    """

    judged: Judged
    style: Style
    section: Section
    score: float
    whole: bool = False
    look: Look | None = None
    crowded_mm: float = 0.0
    as_drawn: float = 0.0

    @property
    def passes(self) -> bool:
        """Whether it can be offered: all rules have run, and none finds an error."""
        return self.whole and self.judged.passes

    @property
    def worth(self) -> float:
        """Its score, and, until the whole rules have run, what stands against its lid; the less the better."""
        return self.score + _CROWDED * self.crowded_mm

    @property
    def document(self) -> Document:
        """The plate with the proposed channels."""
        return self.judged.document


def scored(judged: Judged, laid: Table | Proposal, wishes: Wishes) -> Proposal:
    """A judged plate with its score, the less the better: what is open first, then errors, then what was wished for."""
    figures = judged.numbers
    score = (
        1e6 * len(judged.unconnected)
        + 1e3 * (len(judged.own_errors) + judged.unscrewed)
        + _STARVED * judged.starved
        + wishes.loss * figures.loss_kpa * 10
        + wishes.length * figures.length_mm / 100
        + wishes.bends * figures.bends
        + wishes.milling * figures.milling_mm3 / _MILLED_MM3
    )
    as_drawn = laid.as_drawn if isinstance(laid, Proposal) else _as_drawn(judged.document, laid)
    if wishes.look is not None:
        if wishes.look == "drawn":
            score -= _DRAWN_COUNTS * as_drawn
        else:
            score -= _LOOK_COUNTS * figures.tidiness.of(wishes.look)
    return Proposal(judged, laid.style, laid.section, score, look=laid.look, as_drawn=as_drawn)


def _as_drawn(document: Document, table: Table) -> float:
    """The share of the new channels' length that lies where some were drawn, when the courses were to be like those."""
    if table.look != "drawn" or table.tidy is None:
        return 0.0
    before = {channel.id for channel in table.document.channels}
    channels = build(document).channels.items()
    lines = [shapely.LineString(c.path.points(0.1)) for id_, c in channels if id_ not in before and c.path.segments]
    new, drawn = shapely.MultiLineString(lines), shapely.MultiLineString([c for c in table.tidy.drawn if len(c) > 1])
    if not lines:
        return 0.0
    return float(shapely.intersection(new, shapely.buffer(drawn, _AS_DRAWN_MM)).length / new.length)


def worth_most(drafts: Sequence[Proposal]) -> list[Proposal]:
    """The drafts in the order in which the whole rules look at them: the best by score, then those that are best at one
    thing, so that the alternatives differ in what they are good for."""
    sound = [draft for draft in drafts if not draft.judged.unconnected and not draft.judged.own_errors]
    if not sound:
        return list(drafts)
    # Where one row of screws would have to hold two channels, the lid may well not hold.
    sound.sort(key=lambda one: one.worth)
    first = [
        sound[0],
        max(sound, key=lambda one: one.judged.numbers.tidiness.whole),
        min(sound, key=lambda one: one.judged.numbers.milling_mm3),
        *(one for one in sound if one.look == "drawn"),
        min(sound, key=lambda one: one.judged.numbers.loss_kpa),
    ]
    chosen = list({id(one): one for one in first}.values())
    rest = [one for one in (*sound, *drafts) if all(one is not other for other in chosen)]
    return [*chosen, *{id(one): one for one in rest}.values()]


def added(kept: list[Proposal], new: Proposal, base: Document, most: int = MOST_KEPT) -> bool:
    """Keeps a proposal when it is among the best few that differ; whether it was kept."""
    if new.judged.starved and any(one.judged.good and not one.judged.starved for one in kept):
        return False
    for index, old in enumerate(kept):
        if not differ(old.document, new.document, base):
            if new.score >= old.score - 1e-9 and new.crowded_mm >= old.crowded_mm:
                return False
            if new.score <= old.score and new.crowded_mm <= old.crowded_mm:
                kept[index] = new
                kept.sort(key=lambda one: one.worth)
                return True
            # One of them is better, and the other's lid may hold sooner.
    kept.append(new)
    kept.sort(key=lambda one: one.worth)
    if any(one.judged.good for one in kept):
        kept[:] = [one for one in kept if one.judged.good]
    del kept[most:]
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
