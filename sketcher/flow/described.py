"""A loop in words: "CPU → GPU1 | GPU2 → RAD", read off by following the coolant.

The links that flow are a directed graph. Devices one after another are joined by →, devices side by side by |. The
graph is reduced step by step: two links in a row become one, two side by side become one (Valdes, Tarjan and Lawler,
The Recognition of Series Parallel Digraphs, 1982). A bridge does not reduce; then only the order of the flow is known.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation
from sketcher.flow.plumbing import Plumbing

#: (kind, parts): a device's link, or parts in a row or side by side. An empty row is a plain way.
Term = tuple[str, tuple[Any, ...]]
_WAY: Term = ("row", ())


def flow_order(loop: Plumbing, now: Operation, wanted: set[int]) -> list[int]:
    """Wanted links in the order in which the coolant meets them, from the strongest pump on, breadth first."""
    ends = _directed(loop, now)
    start = max(
        (link for link in loop.pumps if link in ends), key=lambda link: abs(float(now.flow[link])), default=None
    )
    if start is None:
        return []
    after: dict[int, list[int]] = {}
    for link, (up, _) in ends.items():
        after.setdefault(up, []).append(link)
    found, queue, seen = [], [start], {start}
    for link in queue:
        if link in wanted:
            found.append(link)
        for following in after.get(ends[link][1], []):
            if following not in seen:
                seen.add(following)
                queue.append(following)
    return found


def in_one_ring(loop: Plumbing, now: Operation, links: Sequence[int]) -> bool:
    """Whether every way round passes every one of the links: without any one of them nothing can go round.

    That is what series means. Equal flows do not say it: alike branches side by side have equal flows too.
    """
    ends = _directed(loop, now)
    return all(not _goes_round({link: pair for link, pair in ends.items() if link != left}) for left in links)


def _directed(loop: Plumbing, now: Operation) -> dict[int, tuple[int, int]]:
    """(from, to) of every link that flows, in the direction of its flow."""
    found = {}
    for link in np.flatnonzero(np.abs(now.flow) > STILL):
        start, end = int(loop.graph.start[link]), int(loop.graph.end[link])
        found[int(link)] = (start, end) if now.flow[link] > 0 else (end, start)
    return found


def _goes_round(ends: Mapping[int, tuple[int, int]]) -> bool:
    """Whether a directed graph has a closed way (Kahn's order does not take in all its nodes)."""
    after: dict[int, list[int]] = {}
    into: dict[int, int] = {}
    nodes = set()
    for up, down in ends.values():
        after.setdefault(up, []).append(down)
        into[down] = into.get(down, 0) + 1
        nodes |= {up, down}
    ready = [node for node in nodes if not into.get(node)]
    done = 0
    while ready:
        node = ready.pop()
        done += 1
        for following in after.get(node, ()):
            into[following] -= 1
            if not into[following]:
                ready.append(following)
    return done < len(nodes)


def term_of(loop: Plumbing, now: Operation, wanted: Sequence[int]) -> Term | None:
    """The wanted links as rows and branches, from the strongest pump on; none where a bridge or a second ring is in
    the way."""
    ends = _directed(loop, now)
    pumps = [link for link in loop.pumps if link in ends]
    if not pumps:
        return None
    main = max(pumps, key=lambda link: abs(float(now.flow[link])))
    cut = _cut_node(ends, ends[main][0])
    if cut is None:
        return None
    # The cut node becomes two: where the coolant sets out, and where it arrives (-1).
    left: dict[int, tuple[int, int, Term]] = {}
    kept = set(wanted)
    for link, (up, down) in ends.items():
        left[link] = (up, -1 if down == cut else down, ("link", (link,)) if link in kept else _WAY)
    return _reduced(left, cut)


def _cut_node(ends: Mapping[int, tuple[int, int]], start: int) -> int | None:
    """The nearest node at or upstream of ``start`` that every way round passes."""
    before: dict[int, list[int]] = {}
    for up, down in ends.values():
        before.setdefault(down, []).append(up)
    queue, seen = [start], {start}
    for node in queue:
        if not _goes_round({link: pair for link, pair in ends.items() if node not in pair}):
            return node
        for upstream in before.get(node, ()):
            if upstream not in seen and len(seen) < 50:
                seen.add(upstream)
                queue.append(upstream)
    return None


def _reduced(left: dict[int, tuple[int, int, Term]], source: int) -> Term | None:
    """What a directed graph from ``source`` to -1 reduces to."""
    at: dict[int, set[int]] = {}
    for link, (up, down, _) in left.items():
        at.setdefault(up, set()).add(link)
        at.setdefault(down, set()).add(link)
    queue = list(at)
    while queue:
        node = queue.pop()
        links = at.get(node, set())
        # Side by side: links out of this node that end at the same one.
        by_end: dict[int, list[int]] = {}
        for link in sorted(links):
            if left[link][0] == node:
                by_end.setdefault(left[link][1], []).append(link)
        for end, several in by_end.items():
            if len(several) > 1:
                first = several[0]
                left[first] = (node, end, _beside([left[link][2] for link in several]))
                for link in several[1:]:
                    at[node].discard(link)
                    at[end].discard(link)
                    del left[link]
                queue += [node, end]
        if node in (source, -1):
            continue
        arriving = [link for link in at.get(node, ()) if left[link][1] == node]
        leaving = [link for link in at.get(node, ()) if left[link][0] == node]
        if len(arriving) == 1 and len(leaving) == 1 and arriving != leaving:
            a, b = arriving[0], leaving[0]
            up, down = left[a][0], left[b][1]
            left[a] = (up, down, _behind(left[a][2], left[b][2]))
            at[down].discard(b)
            at[down].add(a)
            del at[node], left[b]
            queue += [up, down]
    if len(left) != 1:
        return None
    ((up, down, term),) = left.values()
    return term if (up, down) == (source, -1) else None


def _behind(a: Term, b: Term) -> Term:
    parts = [part for term in (a, b) for part in (term[1] if term[0] == "row" else (term,))]
    return parts[0] if len(parts) == 1 else ("row", tuple(parts))


def _beside(terms: Sequence[Term]) -> Term:
    parts = [part for term in terms for part in (term[1] if term[0] == "beside" else (term,))]
    held = [part for part in parts if part != _WAY]
    if not held:
        return _WAY
    return ("beside", (*held, *([_WAY] if len(held) < len(parts) else [])))


def words(term: Term, names: Mapping[int, str]) -> str:
    """The term in a line; a way past the devices is "–"."""
    kind, parts = term
    if kind == "link":
        return names[parts[0]]
    if not parts:
        return "–"
    if kind == "row":
        return " → ".join(words(part, names) for part in parts)
    return " | ".join(
        f"({words(part, names)})" if part[0] == "row" and part[1] else words(part, names) for part in parts
    )
