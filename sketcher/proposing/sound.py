"""What of a proposal stands under the rules: connections whose channels break one are left out, the worst first."""

from __future__ import annotations

from collections import Counter

from sketcher.document import Document, with_changes
from sketcher.document.union_find import grouped
from sketcher.findings import Finding
from sketcher.proposing.judging import judge


def without_faults(
    document: Document, base: Document, known: frozenset[tuple[str, tuple[str, ...]]]
) -> tuple[Document, dict[str, str]]:
    """The plate without the new channels that break a rule, and by port what the rules said of those.

    Args:
        document: the plate with the proposed channels.
        base: the plate before.
        known: errors, by rule and items, that stood before.
    """
    said: dict[str, str] = {}
    for _ in document.loop.connections:
        net_of = connections_of(document, base)
        faults = [
            (error, hit)
            for error in judge(document, known, quick=True).own_errors
            if (hit := {net_of[id_] for id_ in _about(error) if id_ in net_of})
        ]
        if not faults:
            break
        count = Counter(net for _, hit in faults for net in hit)
        # Of two that are as bad, the later one: the first connections are the ones that were named first.
        worst = max(count, key=lambda net: (count[net], net))
        reason = next(error.message for error, hit in faults if worst in hit)
        gone = {id_ for id_, net in net_of.items() if net == worst}
        said |= {end: reason for c in document.channels if c.id in gone for end in (c.start, c.end) if end is not None}
        document = _without(document, base, gone)
    return document, said


def _about(error: Finding) -> set[str]:
    return {*error.items, *(id_ for listed in error.listed for id_ in listed.items)}


def connections_of(document: Document, base: Document) -> dict[str, int]:
    """The number of the connection that each new channel belongs to."""
    before = {channel.id for channel in base.channels}
    new = [c for c in document.channels if c.id not in before]
    ends = [item.id for item in (*document.ports, *document.branches)]
    pairs = [(c.start, c.end) for c in document.channels if c.start is not None and c.end is not None]
    group = {id_: part for part, members in enumerate(grouped(ends, pairs)) for id_ in members}
    number = {
        group[id_]: index for index, connection in reversed([*enumerate(base.loop.connections)]) for id_ in connection
    }
    return {c.id: number.get(group[c.start], -1) for c in new if c.start is not None}


def _without(document: Document, base: Document, gone: set[str]) -> Document:
    """The plate without some new channels and the branches that nothing then reaches; their ids were never given."""
    channels = [channel for channel in document.channels if channel.id not in gone]
    reached = {end for channel in channels for end in (channel.start, channel.end)}
    kept = {branch.id for branch in base.branches} | {id_ for id_ in reached if id_ is not None}
    return with_changes(
        document, channels=channels, branches=[branch for branch in document.branches if branch.id in kept]
    )
