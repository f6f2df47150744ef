"""The chances as a page of text: for the command line, and for the builder's package."""

from __future__ import annotations

from collections.abc import Iterator

from sketcher.document import Document, DocumentError
from sketcher.geometry import Shapes
from sketcher.sureness.assessment import SOURCES, Sureness, assess, percent
from sketcher.sureness.chances import HIGHEST

_HEAD = """How sure it is that every tube lands.

Every known spread is added up: readings, places, machining, seating, warmth. A wrong reading that was left in, or a
part that is not the one drawn, is outside of this.
"""


def lines(sure: Sureness) -> Iterator[str]:
    """The answer in lines: the sentences, every tube with its spread and whose that is, clearances, advice."""
    yield from sure.messages
    for tube in sorted(sure.tubes, key=lambda tube: tube.chance):
        shares = ", ".join(
            f"{SOURCES.get(name, name)} {100 * part:.0f} %" for name, part in tube.shares.items() if part >= 0.05
        )
        yield (
            f"  {tube.drop.port:<6} {percent(tube.chance):>11}  spread {tube.sigma_mm:.2f} mm, "
            f"may be off by {tube.drop.allowed_mm:.2f} mm  ({shares})"
        )
    for gap in sure.clearances:
        if gap.chance >= HIGHEST:
            continue  # nobody needs to read what is as good as certain
        yield f"  gap of {gap.words}: {gap.gap_mm:.2f} mm, kept in {percent(gap.chance)}"
    for way in sure.advice:
        yield f"  {percent(way.chance):>11} after: {way.do}"


def report(document: Document, shapes: Shapes) -> str:
    """The same as a file of its own, with what it promises and what it does not."""
    try:
        said = "\n".join(lines(assess(document, shapes)))
    except DocumentError as error:
        said = f"No chance can be stated: {error}"
    return f"{_HEAD}\n{said}\n"
