"""What a search tries, round by round: sections, styles, looks, prices of turns and seeds."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

from sketcher.document import Document
from sketcher.proposing.attempt import Table
from sketcher.proposing.budget import Budget
from sketcher.proposing.courses import Style
from sketcher.proposing.found import Found
from sketcher.proposing.lattice_store import Tables
from sketcher.proposing.looks import Look
from sketcher.proposing.negotiation import Prices, lay
from sketcher.proposing.ranking import Proposal
from sketcher.proposing.rule_distances import Section
from sketcher.proposing.sections import depths, thrifty, widths
from sketcher.proposing.wishes import Wishes

#: The search ends with so many good ones.
WANTED_GOOD = 3
#: By what the price of a turn is multiplied for alternatives.
_FACTORS = (0.3, 0.6, 2.0)
#: Looks nobody asked for are tried while no more of the time is spent than this share.
_FOR_LOOKS = 0.3
#: Once one is good, more rounds for others begin while no more of the time is spent than this share.
_FOR_MORE = 0.65


def sections_of(base: Document, wishes: Wishes) -> list[Section]:
    """The sections to try, the one wanted most first."""
    return [Section(width, depth) for width in widths(base, wishes) for depth in depths(base, wishes, width)]


def rounds(
    base: Document,
    wishes: Wishes,
    found: Found,
    tables: Tables,
    budget: Budget,
    waited: Callable[[], bool],
) -> Iterator[Iterator[tuple[Table, Prices, int]]]:
    """What is tried, in rounds that end with the rules: every style and look at one section, the widest first, with a
    few prices of turns; until one is good. Then, as long as that makes it better, other seeds and prices at every
    section.

    Args:
        base: the plate.
        wishes: what is asked for.
        found: what the search has found; it grows between the rounds.
        tables: the lattices.
        budget: what is spent.
        waited: whether nothing got better for a good part of the time.
    """
    chance = random.Random(wishes.seed)
    kinds = tables.kinds(wishes)
    plain = [kind for kind in kinds if kind[1] is wishes.look]
    sections = sections_of(base, wishes)

    def others(section: Section) -> Iterator[tuple[Table, Prices, int]]:
        for style, look in plain:
            yield tables.of(style, section, look), prices_of(wishes, chance.choice(_FACTORS)), chance.randrange(1 << 30)

    def first(section: Section, style: Style, look: Look | None) -> tuple[Table, Prices, int]:
        # What is drawn has its bends: to keep them must not cost what new ones do.
        factor = _FACTORS[0] if look == "drawn" else 1.0
        return tables.of(style, section, look), prices_of(wishes, factor), wishes.seed

    def usual(section: Section) -> Iterator[tuple[Table, Prices, int]]:
        for style, look in plain:
            yield first(section, style, look)
        yield from others(section)
        for style, look in kinds:
            # A look that nobody asked for is tried while there is time.
            if look is not wishes.look and budget.spent <= _FOR_LOOKS * budget.seconds:
                yield first(section, style, look)

    narrowest = thrifty(wishes)
    for section in sections:
        yield usual(section)
        if any_good(found, fed=narrowest):
            # One good one is no choice: more of them while each round brings another and there is time.
            before = 0
            while before < (now := count_good(found)) < WANTED_GOOD and budget.spent < _FOR_MORE * budget.seconds:
                before = now
                yield others(section)
            return
    if found.best is not None and _hopeless(found.best, tables):
        return
    while not any_good(found, fed=narrowest) and not waited():
        for section in sections:
            yield others(section)


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


def prices_of(wishes: Wishes, factor: float) -> Prices:
    """Prices of turns in mm of length: what a bend loses, and what it counts for the look."""
    weight = max(wishes.loss + wishes.length, 1e-6)
    quarter = factor * (30.0 * wishes.loss + 40.0 * wishes.bends) / weight
    return Prices(eighth_mm=0.45 * quarter, quarter_mm=quarter)
