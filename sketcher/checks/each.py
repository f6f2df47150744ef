"""Rules that look at one thing at a time: what they find of it is remembered for as long as it stays as it is."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from typing import Any

from sketcher.document.remembered import Remembered
from sketcher.findings import Finding

#: What was found of a thing.
Found = Remembered[tuple[Finding, ...]]


def each(
    known: Found, rows: Sequence[tuple[tuple[Any, ...], Hashable]], look: Callable[[int], Iterable[Finding]]
) -> Iterator[Finding]:
    """What ``look`` finds of each row, by its number, in order.

    Args:
        known: the memory of this rule alone.
        rows: for each thing the frozen parts that ``look`` reads, and the plain values: all that a finding of it
            depends on, its number in the document included where a fix sets something.
        look: gives the findings of a row; asked only about what is new.
    """
    for found in known.all(rows, lambda new: [tuple(look(n)) for n in new]):
        yield from found


def troubled(
    known: Remembered[bool], rows: Sequence[tuple[tuple[Any, ...], Hashable]], look: Callable[[int], Iterable[Finding]]
) -> Iterator[Finding]:
    """The same for findings whose fixes name other things by their numbers: remembered is only what is sound.

    Of most rows nothing is found, whatever its neighbours' numbers are; of the others it is found again each time.
    """
    for n, sound in enumerate(known.all(rows, lambda new: [not list(look(row)) for row in new])):
        if not sound:
            yield from look(n)
