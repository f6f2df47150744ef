"""Fixes that are proven: put into the document, the rules no longer find what they fix, and find nothing new."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import Any, Protocol

from sketcher.document import Document, DocumentError, from_plain, to_plain
from sketcher.document.models import items
from sketcher.document.remembered import Remembered
from sketcher.findings import Finding, Fix

#: How much is tried for one answer: a run of the quick rules counts as one, of all rules as ``WHOLE``. On a large plate
#: it is less, since each run takes longer there; by count and not by the clock, so that a slow machine offers the same.
#: Where lid screws stand by rule they are designed in each run of all rules, and that counts once more for every time
#: that the lid is bent in it.
MOST_TRIED, LEAST_TRIED, TRIED_TIMES_ITEMS, WHOLE = 75, 16, 6000, 3
#: So many things may be wrong while fixes are tried.
MOST_ROWS = 1_000
#: A lid screw by rule, as ``by_rule`` names it.
_BY_RULE = re.compile(r"^(LS)\d+$")
_ALL_BY_RULE = frozenset(("LS",))
Key = tuple[str, frozenset[str]]
Rules = Callable[[Document], list[Finding]]


class WholeRules(Protocol):
    """All rules over a changed document; told whether it is an error that may end."""

    def __call__(self, document: Document, *, error: bool) -> list[Finding]: ...


#: What was tried before, by document and fix: a document that is looked at again goes on where it stopped.
_tried: Remembered[bool] = Remembered(most=512)


def with_fix(document: Document, fix: Fix) -> Document:
    """The document with a fix's values set.

    Raises:
        DocumentError: the values do not make a valid document.
    """
    plain = to_plain(document)
    for change in fix.changes:
        *parents, last = change.pointer.strip("/").split("/")
        place: Any = plain
        for part in parents:
            place = place[int(part)] if isinstance(place, list) else place.setdefault(part, {})
        if isinstance(place, list):
            place[int(last)] = change.value
        else:
            place[last] = change.value
    return from_plain(plain)


def keys(findings: list[Finding]) -> set[Key]:
    """What was found, one by one: rule and items, of grouped findings each of their rows.

    Lid screws by rule are all one: they are placed anew with every change, and their numbers change hands.
    """
    found: set[Key] = set()
    for finding in findings:
        rows = [row.items for row in finding.listed] or [finding.items]
        found |= {(finding.rule, frozenset(_BY_RULE.sub(r"\1", item) for item in items)) for items in rows}
    return found


def proven(
    document: Document,
    findings: list[Finding],
    quick: Rules,
    every: WholeRules,
    bent: int = 0,
    wanted: Callable[[], bool] = lambda: True,
) -> list[Finding]:
    """The findings with those fixes only that the rules bear out; what was too much to try is not offered.

    Args:
        document: the plate.
        findings: what all rules found, most severe first.
        quick: runs the rules that need no design of the seal; they turn most bad fixes down.
        every: runs all rules, for what the quick ones let pass.
        bent: how often a lid is bent in a run of all rules, where its screws are designed anew.
        wanted: whether somebody still waits for the answer; else nothing more is tried.

    With more than ``MOST_ROWS`` things wrong nothing is tried: each trial looks the whole plate over.
    """
    if not any(finding.fix and not finding.accepted for finding in findings):
        return without_fixes(findings)
    name = hashlib.sha256(json.dumps(to_plain(document), sort_keys=True).encode()).digest()
    known = keys(findings)
    if len(known) > MOST_ROWS:
        return without_fixes(findings)
    before = keys(quick(document)) | known  # of the loop the quick rules know as much as was solved before
    candidates = {
        k: (finding.fix, *finding.other_fixes)
        for k, finding in enumerate(findings)
        if finding.fix is not None and not finding.accepted
    }
    left = max(LEAST_TRIED, min(MOST_TRIED, TRIED_TIMES_ITEMS // max(len(items(document)), 1)))
    borne_out: dict[int, Fix] = {}
    for k, fix, error in _in_turn(candidates, borne_out, findings):
        asked, key = keys([findings[k]]), (name, json.dumps([(change.pointer, change.value) for change in fix.changes]))
        holds = _tried.seen(key)
        if holds is None and left > 0:
            if not wanted():
                return without_fixes(findings)
            holds, left = _holds(document, fix, asked, before, quick, error), left - 1
            if holds:
                if not wanted():
                    return without_fixes(findings)
                holds = _holds(document, fix, asked, known, partial(every, error=error), error)
                left -= WHOLE * (1 + bent)
            _tried.keep(key, holds)
        if holds:
            borne_out[k] = fix
    return [
        replace(finding, fix=borne_out.get(k), other_fixes=()) if finding.fix else finding
        for k, finding in enumerate(findings)
    ]


def _in_turn(
    candidates: dict[int, tuple[Fix, ...]], borne_out: dict[int, Fix], findings: list[Finding]
) -> Iterator[tuple[int, Fix, bool]]:
    """The first way of every finding before the second of any: one stubborn finding does not use up what all have.

    Each with its finding's number, and whether that is an error. What is borne out meanwhile needs no second way.
    """
    for turn in range(max(map(len, candidates.values()))):
        for k, ways in candidates.items():
            if k not in borne_out and turn < len(ways):
                yield k, ways[turn], findings[k].level == "error"


def without_fixes(findings: list[Finding]) -> list[Finding]:
    """The findings without their fixes: what was not tried is not offered."""
    return [
        _bare.of((f,), None, lambda f=f: replace(f, fix=None, other_fixes=())) if f.fix else f  # type: ignore[misc]
        for f in findings
    ]


_bare: Remembered[Finding] = Remembered()


def _holds(document: Document, fix: Fix, asked: set[Key], before: set[Key], run: Rules, error: bool) -> bool:
    try:
        found = run(with_fix(document, fix))
    except (DocumentError, IndexError):
        return False  # a screw that is worked out has no values to set
    after = keys(found)
    if after & asked:
        return False
    new = after - before - asked
    if not error:
        return not new
    # Screws by rule are designed again: what is only to be minded of them and their lid keeps no error standing.
    minded = keys([f for f in found if f.level != "error"])
    lid = {key for key in minded if document.seal.screws_by_rule and key[0].startswith(("lid-", "screw-"))}
    return new <= lid | {key for key in minded if key[1] == _ALL_BY_RULE}
