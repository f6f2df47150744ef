"""Fixes that are proven: put into the document, the rules no longer find what they fix, and find nothing new."""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from sketcher.document import Document, DocumentError, from_plain, to_plain
from sketcher.document.remembered import Remembered
from sketcher.findings import Finding, Fix

#: So many fixes are tried in any case; further ones as long as there is time, since each costs a run of the rules.
ALWAYS_TRIED = 8
MOST_SECONDS = 1.5
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
    """What was found, one by one: rule and items, of grouped findings each of their rows."""
    found: set[Key] = set()
    for finding in findings:
        rows = [row.items for row in finding.listed] or [finding.items]
        found |= {(finding.rule, frozenset(items)) for items in rows}
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
        return [replace(finding, fix=None) if finding.fix else finding for finding in findings]
    name = hashlib.sha256(json.dumps(to_plain(document), sort_keys=True).encode()).digest()
    before, known = keys(quick(document)), keys(findings)
    end, tried = time.monotonic() + MOST_SECONDS, 0
    told = []
    for finding in findings:
        fix = finding.fix
        if fix is None:
            told.append(finding)
            continue
        holds = None if finding.accepted else _tried.seen((name, fix))
        if holds is None and not finding.accepted and (tried < ALWAYS_TRIED or time.monotonic() < end):
            tried += 1
            asked = keys([finding])
            holds = _holds(document, fix, asked, before, quick) and _holds(document, fix, asked, known, every)
            _tried.keep((name, fix), holds)
        told.append(finding if holds else replace(finding, fix=None))
    return told


def _holds(document: Document, fix: Fix, asked: set[Key], before: set[Key], run: Rules) -> bool:
    try:
        after = keys(run(with_fix(document, fix)))
    except DocumentError:
        return False
    return not after & asked and after <= before | asked
