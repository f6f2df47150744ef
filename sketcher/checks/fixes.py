"""Fixes that are proven: put into the document, the rules no longer find what they mend, and find nothing new."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from sketcher.document import Document, DocumentError, from_plain, to_plain
from sketcher.findings import Finding, Fix

#: More fixes than this are not tried in one run: each costs a run of the rules.
MOST_TRIED = 8
Key = tuple[str, frozenset[str]]
Rules = Callable[[Document], list[Finding]]


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
            place = place[int(part)] if isinstance(place, list) else place[part]
        place[last] = change.value
    return from_plain(plain)


def keys(findings: list[Finding]) -> set[Key]:
    """What was found, one by one: rule and items, of grouped findings each of their rows."""
    found: set[Key] = set()
    for finding in findings:
        rows = [row.items for row in finding.listed] or [finding.items]
        found |= {(finding.rule, frozenset(items)) for items in rows}
    return found


def proven(document: Document, findings: list[Finding], quick: Rules, every: Rules) -> list[Finding]:
    """The findings with those fixes only that the rules bear out; the first few are tried, the others not offered.

    Args:
        document: the plate.
        findings: what all rules found, most severe first.
        quick: runs the rules that need no design of the seal.
        every: runs all rules; for a fix of what the quick ones do not ask.
    """
    if not any(finding.fix for finding in findings):
        return findings
    before = keys(quick(document))
    told, tried = [], 0
    for finding in findings:
        if finding.fix is None:
            told.append(finding)
            continue
        tried += 1
        asked = keys([finding])
        run, known = (quick, before) if asked <= before else (every, keys(findings))
        holds = tried <= MOST_TRIED and not finding.accepted and _holds(document, finding.fix, asked, known, run)
        told.append(finding if holds else replace(finding, fix=None))
    return told


def _holds(document: Document, fix: Fix, asked: set[Key], before: set[Key], run: Rules) -> bool:
    try:
        after = keys(run(with_fix(document, fix)))
    except DocumentError:
        return False
    return not after & asked and after <= before
