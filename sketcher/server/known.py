"""Documents that page and server both know, so that a question about a drag need carry only what has moved.

Each has a name that only this run of the server gives out: after a restart nobody knows it, and the page sends the
whole again. A name stands for one content for ever: undo, another window or a reload change nothing about it.
"""

from __future__ import annotations

import re
import secrets
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sketcher.document import Document

#: Each window drags one plate at a time, and asks on from its last answer.
MOST_KNOWN = 24


@dataclass(frozen=True)
class Known:
    """A document, and what was answered last on the way to it: findings, flow, the drawing's rows, snapping places."""

    document: Document
    answered: dict[str, Any]


class KnownDocuments:
    """The last documents that were asked about in a drag, by name."""

    def __init__(self, most: int = MOST_KNOWN) -> None:
        self._most = most
        self._run = secrets.token_urlsafe(9)
        self._given = 0
        self._known: OrderedDict[str, Known] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, name: str) -> Known | None:
        """What is known under a name."""
        with self._lock:
            return self._known.get(name)

    def keep(self, known: Known) -> str:
        """Remember one more, and its new name."""
        with self._lock:
            self._given += 1
            name = f"{self._run}.{self._given}"
            self._known[name] = known
            if len(self._known) > self._most:
                self._known.popitem(last=False)
            return name


def pieces(before: list[Any], now: list[Any]) -> list[dict[str, Any]] | None:
    """A list as pieces of one before and new rows: ``{"start", "count"}`` or ``{"rows"}``; none when none stays.

    Rows are frozen and remembered, so most that stay are the same objects; others are compared.
    """
    if len(before) == len(now):
        other = [n for n, (one, two) in enumerate(zip(before, now, strict=True)) if one is not two and one != two]
        if len(other) <= _FEW:
            return _but_for(other, now)
    # Texts are told apart by what they say: they are made anew for each answer.
    at = {row if isinstance(row, str) else id(row): n for n, row in enumerate(before)}
    found: list[dict[str, Any]] = []
    kept = 0
    for n, row in enumerate(now):
        start = at.get(row if isinstance(row, str) else id(row))
        if start is None and n < len(before) and before[n] == row:
            start = n
        last = found[-1] if found else {}
        if start is None:
            if "rows" in last:
                last["rows"].append(row)
            else:
                found.append({"rows": [row]})
            continue
        kept += 1
        if "start" in last and last["start"] + last["count"] == start:
            last["count"] += 1
        else:
            found.append({"start": start, "count": 1})
    return found if kept or not now else None


#: So many rows of a list may be other ones, to be left out one by one.
_FEW = 50


def _but_for(other: list[int], now: list[Any]) -> list[dict[str, Any]] | None:
    """A list as long as the one before, in which only the rows of these numbers are other ones."""
    if now and len(other) == len(now):
        return None
    found: list[dict[str, Any]] = []
    start = 0
    for n in [*other, len(now)]:
        if n > start:
            found.append({"start": start, "count": n - start})
        if n < len(now):
            if n == start and found and "rows" in found[-1]:
                found[-1]["rows"].append(now[n])
            else:
                found.append({"rows": [now[n]]})
        start = n + 1
    return found


#: What is answered by differences.
PARTS = ("findings", "flow", "drawing", "snaps")
#: A drawing's text is cut before each of its items and layers; put together again it is the same text.
_CUT = re.compile(r'(?=<g class="(?:item|layer|finding))')


def rows_of(svg: str) -> list[str]:
    """A drawing's text as rows, one for each item."""
    return _CUT.split(svg)


def answered(before: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    """What stands answered after an answer: its own parts, and of those before what it does not have."""
    found = {part: now[part] for part in PARTS if now.get(part) is not None}
    if "drawing" in found:
        same = {row: row for row in before["drawing"]["rows"]} if "drawing" in before else {}
        rows = [same.get(row, row) for row in rows_of(found["drawing"]["svg"])]
        found["drawing"] = {**found["drawing"], "svg": "", "rows": rows}
    return {**before, **found}


def less(before: Mapping[str, Any], now: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """An answer without what stays of the one before, and the differences that bring it back.

    Args:
        before: the parts as they were answered before (``answered``).
        now: the whole answer now.
    """
    answer, differences = dict(now), dict[str, Any]()
    if isinstance(before.get("findings"), list) and isinstance(now.get("findings"), list):
        found = pieces(before["findings"], now["findings"])
        if found is not None:
            answer["findings"], differences["findings"] = None, found
    was, flow = before.get("flow"), now.get("flow")
    if was is not None and was is flow:
        answer["flow"], differences["flow"] = None, {}
    elif isinstance(was, dict) and isinstance(flow, dict):
        found = pieces(was["elements"], flow["elements"])
        if found is not None:
            new = {key: value for key, value in flow.items() if key not in was or was[key] != value}
            answer["flow"], differences["flow"] = None, {**new, "elements": found}
    if "drawing" in before and now.get("drawing") is not None:
        drawing = now["drawing"]
        rows = rows_of(drawing["svg"])
        found = pieces(before["drawing"]["rows"], rows)
        if found is not None:
            rest = {key: value for key, value in drawing.items() if key != "svg"}
            answer["drawing"], differences["drawing"] = None, {**rest, "rows": found}
    if "snaps" in before and now.get("snaps") is not None and now["snaps"] == before["snaps"]:
        answer["snaps"], differences["snaps"] = None, {}
    return answer, differences


__all__ = ["Known", "KnownDocuments", "answered", "less", "pieces", "rows_of"]
