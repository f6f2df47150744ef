"""The search: attempts in one style after another, each judged by the rules; the best few that differ truly."""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import shapely

from sketcher.document import Document
from sketcher.document.joined import open_connections
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.geometry.path import Point
from sketcher.geometry.shapes import ChannelShape
from sketcher.proposing.attempt import Table
from sketcher.proposing.clearances import Section
from sketcher.proposing.courses import STYLES, Style
from sketcher.proposing.judging import Judged, judge
from sketcher.proposing.looks import LOOKS, Axis, Look
from sketcher.proposing.negotiation import Prices, lay
from sketcher.proposing.sections import depths, widths
from sketcher.proposing.sound import without_faults
from sketcher.proposing.stuck import Stuck, explain
from sketcher.proposing.wishes import Wishes
from sketcher.proposing.writing import with_screws, without_channels

#: So many proposals are kept, and so far two must lie apart somewhere to count as two, mm.
MOST_KEPT = 5
APART_MM = 12.0
#: The search ends with so many good ones.
_WANTED = 3
#: By what the price of a turn is multiplied for alternatives.
_FACTORS = (0.3, 0.6, 2.0)
#: So much milled away counts as one bend does, mm³: about a minute of a small cutter. Common practice, no source.
_MILLED_MM3 = 5_000.0
#: What a look that is wished for counts against bends, when all of the length has it.
_LOOK_COUNTS = 20.0
#: Finding out what to move takes so long at the most, s, or as long as the search was given.
_LEAST_EXPLAINING_S = 5.0


@dataclass(frozen=True)
class Proposal:
    """One way to lay the plate out, judged, with the style and the section it was laid in.

    ``whole``: its lid screws were designed and all rules have run, not the quick ones alone.
    """

    judged: Judged
    style: Style
    section: Section
    score: float
    whole: bool = False
    look: Look | None = None

    @property
    def document(self) -> Document:
        """The plate with the proposed channels."""
        return self.judged.document


@dataclass
class Found:
    """What a search found: the best first, and for each connection without a way why, and what to move."""

    proposals: list[Proposal] = field(default_factory=list)
    stuck: list[Stuck] = field(default_factory=list)
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

    known = frozenset((error.rule, error.items) for error in judge(base).errors if error.rule != "connection-open")

    def ended() -> bool:
        return stop() or time.monotonic() - begun > wishes.seconds

    tables = Tables(base, document, wishes)
    for attempts in _rounds(tables, wishes, found):
        drafts: list[Proposal] = []
        for table, prices, seed in attempts:
            if ended() and found.attempts:
                break
            attempt = table.attempt(prices, seed, lambda: ended() and found.attempts > 0)
            found.attempts += 1
            _added(drafts, _scored(judge(attempt.document, known, quick=True), table, wishes), base)
        _looked_over(found, drafts, base, known, wishes, lambda: time.monotonic() - begun, ended, progress)
        if ended():
            break
    best = found.best
    if best is not None and not best.judged.good:
        sound, broken = without_faults(best.document, base, known)
        if sound is not best.document or not best.whole:
            whole = judge(with_screws(sound, limits_of(base)), known)
            best = replace(_scored(whole, best, wishes), whole=True)
        # What has errors of its own is not proposed; the rest is, with the reason for what is left out.
        found.proposals = [best]
        if best.judged.unconnected and not stop():
            _explained(found, best, tables, wishes, broken, stop)
    found.seconds = time.monotonic() - begun
    return found


def _looked_over(
    found: Found,
    drafts: Sequence[Proposal],
    base: Document,
    known: frozenset[tuple[str, tuple[str, ...]]],
    wishes: Wishes,
    elapsed: Callable[[], float],
    ended: Callable[[], bool],
    progress: Callable[[Found], None],
) -> None:
    """What the quick rules let pass under all rules, the best first, until enough are good or the time is up."""
    took = 0.0
    for draft in _worth_most(drafts):
        began = elapsed()
        # Once one is good, no other is begun that would not be done in time.
        if found.proposals and (ended() or (_good(found) and began + took > wishes.seconds)):
            break
        if not draft.judged.unconnected and not draft.judged.own_errors:
            # Screws take longest to design: only for what the quick rules let pass.
            like = next((one.document for one in found.proposals if one.whole and one.judged.good), None)
            whole = judge(with_screws(draft.document, limits_of(base), like), known)
            draft = replace(_scored(whole, draft, wishes), whole=True)
        took = elapsed() - began
        if _added(found.proposals, draft, base):
            found.seconds = elapsed()
            progress(found)
        if sum(one.judged.good for one in found.proposals) >= _WANTED:
            break


def _explained(
    found: Found, best: Proposal, tables: Tables, wishes: Wishes, broken: dict[str, str], stop: Callable[[], bool]
) -> None:
    """For each connection that the best proposal leaves open: why, and what to move."""
    until = time.monotonic() + max(wishes.seconds, _LEAST_EXPLAINING_S)
    for ports in best.judged.unconnected:
        found.stuck.append(
            explain(
                tables.of(best.style, best.section),
                ports,
                _prices(wishes, 1.0),
                lambda: stop() or time.monotonic() > until,
                laid=best.document,
                broken=next((broken[id_] for id_ in ports if id_ in broken), ""),
            )
        )


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


class Tables:
    """The lattices of one plate, each made once: they take a good part of an attempt's time."""

    def __init__(self, base: Document, before: Document, wishes: Wishes) -> None:
        self.base = base
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
            self._made[key] = Table(self.base, self.limits, section, style, look, self.axis, self.drawn)
        return self._made[key]

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


def _rounds(tables: Tables, wishes: Wishes, found: Found) -> Iterator[Iterator[tuple[Table, Prices, int]]]:
    """What is tried, in rounds that end with the rules: every style and look at one section, the widest first, with a
    few prices of turns; until one is good. Then, as long as time lasts, other seeds and prices at every section."""
    chance = random.Random(wishes.seed)
    base, table = tables.base, tables.of
    kinds = tables.kinds(wishes)
    plain = [kind for kind in kinds if kind[1] is wishes.look]
    sections = [Section(width, depth) for width in widths(base, wishes) for depth in depths(base, wishes, width)]

    def others(section: Section) -> Iterator[tuple[Table, Prices, int]]:
        for style, look in plain:
            yield table(style, section, look), _prices(wishes, chance.choice(_FACTORS)), chance.randrange(1 << 30)

    def usual(section: Section) -> Iterator[tuple[Table, Prices, int]]:
        for style, look in kinds:
            # What is drawn has its bends: to keep them must not cost what new ones do.
            factor = _FACTORS[0] if look == "drawn" else 1.0
            yield table(style, section, look), _prices(wishes, factor), wishes.seed
        yield from others(section)

    for section in sections:
        yield usual(section)
        if _good(found):
            return
    if found.best is not None and _hopeless(found.best, tables):
        return
    while not _good(found):
        for section in sections:
            yield others(section)


def _good(found: Found) -> bool:
    return any(one.judged.good for one in found.proposals)


def _hopeless(best: Proposal, tables: Tables) -> bool:
    """Whether what is missing has no way even with no other channel drawn: more attempts change nothing."""
    if not best.judged.unconnected:
        return False
    table = tables.of(best.style, best.section)
    prices = Prices()
    alone = {
        id_: bool(lay(table.lattice, net, table.ground.costs(net), prices, table.ground.closed_by).missing)
        for net in table.nets
        for id_ in net.ends
    }
    return all(any(alone.get(id_, False) for id_ in ports) for ports in best.judged.unconnected)


def _prices(wishes: Wishes, factor: float) -> Prices:
    """Prices of turns in mm of length: what a bend loses, and what it counts for the look."""
    weight = max(wishes.loss + wishes.length, 1e-6)
    quarter = factor * (30.0 * wishes.loss + 40.0 * wishes.bends) / weight
    return Prices(eighth_mm=0.45 * quarter, quarter_mm=quarter)


def _scored(judged: Judged, laid: Table | Proposal, wishes: Wishes) -> Proposal:
    """A judged plate with its score, the less the better: what is open first, then errors, then what was wished for."""
    figures = judged.numbers
    score = (
        1e6 * len(judged.unconnected)
        + 1e3 * (len(judged.own_errors) + judged.unscrewed)
        + wishes.loss * figures.loss_kpa * 10
        + wishes.length * figures.length_mm / 100
        + wishes.bends * figures.bends
        + wishes.milling * figures.milling_mm3 / _MILLED_MM3
    )
    if wishes.look is not None:
        score -= _LOOK_COUNTS * figures.tidiness.of(wishes.look)
    return Proposal(judged, laid.style, laid.section, score, look=laid.look)


def _worth_most(drafts: Sequence[Proposal]) -> list[Proposal]:
    """The drafts in the order in which the whole rules look at them: the best by score, then those that are best at one
    thing, so that the alternatives differ in what they are good for."""
    sound = [draft for draft in drafts if not draft.judged.unconnected and not draft.judged.own_errors]
    if not sound:
        return list(drafts)
    first = [
        sound[0],
        max(sound, key=lambda one: one.judged.numbers.tidiness.whole),
        min(sound, key=lambda one: one.judged.numbers.milling_mm3),
        *(one for one in sound if one.look == "drawn"),
        min(sound, key=lambda one: one.judged.numbers.loss_kpa),
    ]
    chosen = list({id(one): one for one in first}.values())
    return [*chosen, *(one for one in drafts if all(one is not other for other in chosen))]


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
