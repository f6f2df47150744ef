"""What a search tries, round by round: sections, styles, looks, prices of turns and seeds."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from sketcher.document import Document
from sketcher.proposing.attempt import Table
from sketcher.proposing.budget import Budget
from sketcher.proposing.found import Found
from sketcher.proposing.lattice_store import Tables
from sketcher.proposing.negotiation import Prices, lay
from sketcher.proposing.ranking import Proposal
from sketcher.proposing.rule_distances import Section
from sketcher.proposing.sections import depths, thinner, thrifty, widths
from sketcher.proposing.unlike import Shunned, unlike
from sketcher.proposing.wishes import Wishes

#: The search ends with so many good ones.
WANTED_GOOD = 3
#: By what the price of a turn is multiplied for alternatives.
_FACTORS = (0.3, 0.6, 2.0)
#: Looks nobody asked for are tried while no more of the time is spent than this share.
_FOR_LOOKS = 0.3
#: Once one is good, more rounds for others begin while no more of the time is spent than this share.
FOR_MORE = 0.8
#: How much dearer ground on one row of screws with another channel is for those: they are to hold.
_APART = 3.0
#: So many rounds for others, each with connections kept off the courses that were found.
_ROUNDS_APART = 4


@dataclass(frozen=True)
class Try:
    """One attempt that is to be made: over which lattice, with which prices of turns, seed, and what to keep off."""

    table: Table
    prices: Prices
    seed: int
    shunned: Shunned | None = None


def sections_of(base: Document, wishes: Wishes) -> list[Section]:
    """The sections to try, the one wanted most first."""
    return [Section(width, depth) for width in widths(base, wishes) for depth in depths(base, wishes, width)]


class Rounds:
    """What one search tries.

    Args:
        base: the plate.
        wishes: what is asked for.
        found: what the search has found; it grows between the rounds.
        tables: the lattices.
        budget: what is spent.
        waited: whether nothing got better for a good part of the time.
    """

    def __init__(
        self,
        base: Document,
        wishes: Wishes,
        found: Found,
        tables: Tables,
        budget: Budget,
        waited: Callable[[], bool],
    ) -> None:
        self.base, self.wishes, self.found = base, wishes, found
        self.tables, self.budget, self.waited = tables, budget, waited
        self.chance = random.Random(wishes.seed)
        self.kinds = tables.kinds(wishes)
        self.plain = [kind for kind in self.kinds if kind[1] is wishes.look]

    def all(self) -> Iterator[Iterator[Try]]:
        """Rounds that end with the rules: every style and look at one section, the widest first, with a few prices of
        turns; until one is good. Then others that differ from it, or, as long as that makes it better, other seeds and
        prices at every section."""
        found, narrowest = self.found, thrifty(self.wishes)
        sections = sections_of(self.base, self.wishes)
        for section in sections:
            yield self._usual(section)
            if any_good(found, fed=narrowest):
                # One good one is no choice.
                for turn in range(_ROUNDS_APART):
                    if count_good(found) >= WANTED_GOOD or self.budget.spent >= FOR_MORE * self.budget.seconds:
                        break
                    yield self._apart(section, turn)
                return
        if found.best is not None and _hopeless(found.best, self.tables):
            return
        while not any_good(found, fed=narrowest) and not self.waited():
            for section in sections:
                yield self._others(section)

    def _usual(self, section: Section) -> Iterator[Try]:
        for table in self._plain(section):
            yield self._first(table)
        yield from self._others(section)
        for style, look in self.kinds:
            # A look that nobody asked for is tried while there is time.
            if look is not self.wishes.look and self.budget.spent <= _FOR_LOOKS * self.budget.seconds:
                yield self._first(self.tables.of(style, section, look))

    def _plain(self, section: Section) -> Iterator[Table]:
        """What is tried first, one after the other; free courses that are wanted alone over two lattices."""
        for style, look in self.plain:
            yield self.tables.of(style, section, look)
        if self.wishes.style == "free":
            yield self.tables.pulled_taut(section)

    def _first(self, table: Table) -> Try:
        # What is drawn has its bends: to keep them must not cost what new ones do.
        factor = _FACTORS[0] if table.look == "drawn" else 1.0
        return Try(table, prices_of(self.wishes, factor), self.wishes.seed)

    def _others(self, section: Section) -> Iterator[Try]:
        for table in self._plain(section):
            prices = prices_of(self.wishes, self.chance.choice(_FACTORS), _APART)
            yield Try(table, prices, self.chance.randrange(1 << 30))

    def _apart(self, section: Section, turn: int) -> Iterator[Try]:
        """Connections kept off the courses found, in one style after another; and a section that is milled sooner."""
        style, look = self.plain[turn % len(self.plain)]
        if turn == 0:
            for other in thinner(self.base, self.wishes, section):
                yield self._first(self.tables.of(style, other, look))
        taut = self.wishes.style == "free" and turn % 2 == 0
        table = self.tables.pulled_taut(section) if taut else self.tables.of(style, section, look)
        for shunned in unlike(table, self.base, self.found.proposals, turn):
            yield Try(table, prices_of(self.wishes, 1.0, _APART), self.chance.randrange(1 << 30), shunned)
        if turn:
            yield from self._others(section)


def count_good(found: Found) -> int:
    """How many proposals bring no error."""
    return sum(one.judged.good for one in found.proposals)


def any_good(found: Found, *, fed: bool = False) -> bool:
    """Whether a proposal brings no error; ``fed``: and every device gets the flow it needs."""
    return any(one.judged.good and not (fed and one.judged.starved) for one in found.proposals)


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


def prices_of(wishes: Wishes, factor: float, shared: float = Prices.shared) -> Prices:
    """Prices of turns in mm of length: what a bend loses, and what it counts for the look."""
    weight = max(wishes.loss + wishes.length, 1e-6)
    quarter = factor * (30.0 * wishes.loss + 40.0 * wishes.bends) / weight
    return Prices(eighth_mm=0.45 * quarter, quarter_mm=quarter, shared=shared)
