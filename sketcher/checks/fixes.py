"""Fixes that are proven: put into the document, the rules no longer find what they fix, and find nothing new."""

from __future__ import annotations

import hashlib
import json
import re
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from sketcher.document import Document, DocumentError, from_plain, to_plain
from sketcher.document.remembered import Remembered
from sketcher.findings import Finding, Fix

#: So many fixes are tried in any case; further ones as long as there is time, since each costs a run of the rules: of
#: this thread alone, so that a busy machine hides few of them, and by the clock, so that nobody waits long for them.
ALWAYS_TRIED = 4
MOST_SECONDS, LONGEST_WAIT_S = 0.7, 2.0
#: A lid screw by rule, as ``by_rule`` names it.
_BY_RULE = re.compile(r"^(LS)\d+$")
_ALL_BY_RULE = frozenset(("LS",))
Key = tuple[str, frozenset[str]]
Rules = Callable[[Document], list[Finding]]

#: What was tried before, by document and fix: a document that is looked at again goes on where the time ran out.
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


def proven(document: Document, findings: list[Finding], quick: Rules, every: Rules) -> list[Finding]:
    """The findings with those fixes only that the rules bear out; what there was no time to try is not offered.

    Args:
        document: the plate.
        findings: what all rules found, most severe first.
        quick: runs the rules that need no design of the seal; they turn most bad fixes down.
        every: runs all rules, for what the quick ones let pass.
    """
    if not any(finding.fix and not finding.accepted for finding in findings):
        return without_fixes(findings)
    name = hashlib.sha256(json.dumps(to_plain(document), sort_keys=True).encode()).digest()
    known = keys(findings)
    before = keys(quick(document)) | known  # of the loop the quick rules know as much as was solved before
    candidates = {
        k: (finding.fix, *finding.other_fixes)
        for k, finding in enumerate(findings)
        if finding.fix is not None and not finding.accepted
    }
    ends, tried = (time.thread_time() + MOST_SECONDS, time.monotonic() + LONGEST_WAIT_S), 0
    borne_out: dict[int, Fix] = {}
    # The first way of every finding before the second of any: one stubborn finding does not use up the time of all.
    for turn in range(max(map(len, candidates.values()))):
        for k, ways in candidates.items():
            if k in borne_out or turn >= len(ways):
                continue
            fix, asked = ways[turn], keys([findings[k]])
            key = (name, json.dumps([(change.pointer, change.value) for change in fix.changes]))
            holds = _tried.seen(key)
            if holds is None and (
                tried < ALWAYS_TRIED or (time.thread_time() < ends[0] and time.monotonic() < ends[1])
            ):
                tried += 1
                error = findings[k].level == "error"
                holds = _holds(document, fix, asked, before, quick, error) and _holds(
                    document, fix, asked, known, every, error
                )
                _tried.keep(key, holds)
            if holds:
                borne_out[k] = fix
    return [
        replace(finding, fix=borne_out.get(k), other_fixes=()) if finding.fix else finding
        for k, finding in enumerate(findings)
    ]


def without_fixes(findings: list[Finding]) -> list[Finding]:
    """The findings without their fixes: what was not tried is not offered."""
    return [replace(f, fix=None, other_fixes=()) if f.fix else f for f in findings]


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
    # Screws by rule are designed anew: what is only to be minded, of them alone, does not keep an error standing.
    return new <= {key for key in keys([f for f in found if f.level != "error"]) if key[1] == _ALL_BY_RULE}
