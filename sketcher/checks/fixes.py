"""Fixes that are proven: put into the document, the rules no longer find what they fix, and find nothing new."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
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


@dataclass(frozen=True)
class _Look:
    """What the rules found with a fix in the document: all, what of it is no error, and what is a warning."""

    found: frozenset[Key]
    minded: frozenset[Key]
    warned: frozenset[Key]


@dataclass(frozen=True)
class _Tried:
    """A fix that was tried, by the quick rules and by all; none where the document is not valid, or not yet."""

    quick: _Look | None
    whole: _Look | None = None


#: What was tried before, by document and fix: a document that is looked at again goes on where it stopped. What was
#: found is kept, and not whether that is well: several findings offer the same fix, and each asks for its own end.
_tried: Remembered[_Tried] = Remembered(most=512)


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
    screws: Callable[[Document], int] | None = None,
) -> list[Finding]:
    """The findings with those fixes only that the rules bear out; what was too much to try is not offered.

    Args:
        document: the plate.
        findings: what all rules found, most severe first.
        quick: runs the rules that need no design of the seal; they turn most bad fixes down.
        every: runs all rules, for what the quick ones let pass.
        bent: how often a lid is bent in a run of all rules, where its screws are designed anew.
        wanted: whether somebody still waits for the answer; else nothing more is tried.
        screws: how many lid screws a document has; only asked of one that was tried.

    With more than ``MOST_ROWS`` things wrong nothing is tried: each trial looks the whole plate over.
    """
    if not any(finding.fix and not finding.accepted for finding in findings):
        return without_fixes(findings)
    known = keys(findings)
    if len(known) > MOST_ROWS:
        return without_fixes(findings)
    # Of the loop the quick rules know as much as was solved before.
    trials = _Trials(document, quick, every, known, keys(quick(document)) | known, bent)
    candidates = {
        k: (finding.fix, *finding.other_fixes)
        for k, finding in enumerate(findings)
        if finding.fix is not None and not finding.accepted
    }
    borne_out: dict[int, Fix] = {}
    for k, fix, error in _in_turn(candidates, borne_out, findings):
        asked = keys([findings[k]])
        for whole in (False, True):
            if not wanted():
                return without_fixes(findings)
            if not trials.holds(fix, asked, error=error, whole=whole):
                break
        else:
            borne_out[k] = trials.told(fix, asked, screws) if fix.turns else fix
    return [
        replace(finding, fix=borne_out.get(k), other_fixes=()) if finding.fix else finding
        for k, finding in enumerate(findings)
    ]


class _Trials:
    """The trials of one document's fixes: what each brought is kept, and how much more may be tried."""

    def __init__(
        self, document: Document, quick: Rules, every: WholeRules, known: set[Key], before: set[Key], bent: int
    ) -> None:
        self._document, self._quick, self._every = document, quick, every
        self._known, self._before, self._bent = known, before, bent
        self._name = hashlib.sha256(json.dumps(to_plain(document), sort_keys=True).encode()).digest()
        self._left = max(LEAST_TRIED, min(MOST_TRIED, TRIED_TIMES_ITEMS // max(len(items(document)), 1)))
        self._large = self._left == LEAST_TRIED

    def holds(self, fix: Fix, asked: set[Key], *, error: bool, whole: bool) -> bool:
        """Whether a fix ends what it is asked for and brings nothing new; not where no more may be tried."""
        key = self._key(fix)
        tried = _tried.seen(key)
        # There is one lid to turn, and many findings may ask for it: on all but large plates that is tried in any case.
        some = self._left > 0 or (fix.turns and not self._large)
        if tried is None and some:
            self._left -= 1
            tried = _Tried(_look(self._document, fix, self._quick))
            _tried.keep(key, tried)
        if tried is not None and whole and tried.whole is None and some:
            self._left -= WHOLE * (1 + self._bent)
            tried = replace(tried, whole=_look(self._document, fix, partial(self._every, error=error)))
            _tried.keep(key, tried)
        look = None if tried is None else tried.whole if whole else tried.quick
        return look is not None and self._well(look, asked, fix, error, self._known if whole else self._before)

    def _well(self, look: _Look, asked: set[Key], fix: Fix, error: bool, before: set[Key]) -> bool:
        new = look.found - before - asked
        if look.found & asked:
            return False
        if not error:
            return not new
        if fix.turns:
            return new <= look.minded
        # Screws by rule are designed again: what is only to be minded of them and their lid keeps no error standing.
        lid = self._document.seal.screws_by_rule
        return all(
            key in look.minded and (key[1] == _ALL_BY_RULE or (lid and key[0].startswith(("lid-", "screw-"))))
            for key in new
        )

    def told(self, fix: Fix, asked: set[Key], screws: Callable[[Document], int] | None) -> Fix:
        """A fix that turns more than it mends, with its cost in its label: lid screws, and warnings more than now."""
        tried, costs = _tried.seen(self._key(fix)), []
        if screws is not None:
            now, then = screws(self._document), screws(with_fix(self._document, fix))
            costs += [f"{then} lid screws in place of {now}"] if now != then else []
        more = len(tried.whole.warned - self._known - asked) if tried is not None and tried.whole is not None else 0
        costs += [f"{more} more {'warning' if more == 1 else 'warnings'}"] if more else []
        return replace(fix, label=f"{fix.label} ({', '.join(costs)})") if costs else fix

    def _key(self, fix: Fix) -> tuple[bytes, str]:
        return self._name, json.dumps([(change.pointer, change.value) for change in fix.changes])


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


def _look(document: Document, fix: Fix, run: Rules) -> _Look | None:
    try:
        found = run(with_fix(document, fix))
    except (DocumentError, IndexError):
        return None  # a screw that is worked out has no values to set
    minded = [one for one in found if one.level != "error"]
    warned = [one for one in minded if one.level == "warning"]
    return _Look(frozenset(keys(found)), frozenset(keys(minded)), frozenset(keys(warned)))
