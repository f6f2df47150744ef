"""Findings as people work through them: one for one cause, in the natural order of ids."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache

from sketcher.document.remembered import Remembered
from sketcher.findings.finding import LEVELS, Cause, Change, Finding, Fix, Listed

#: So many findings that say the same become one; of the others' names so many are told in its sentence.
ALIKE, NAMED = 3, 4
_DIGITS = re.compile(r"(\d+)")


@lru_cache(maxsize=20_000)
def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts P2 before P10."""
    return tuple((0, int(part), "") if part.isdigit() else (1, 0, part) for part in _DIGITS.split(name) if part)


def pair(one: str, other: str) -> tuple[str, str]:
    """Two ids in their natural order."""
    return (one, other) if natural(one) <= natural(other) else (other, one)


def ordered(findings: Iterable[Finding]) -> list[Finding]:
    """Most severe first, then by rule and items, ids in their natural order."""

    def place(finding: Finding) -> tuple[int, str, tuple[tuple[tuple[int, int, str], ...], ...]]:
        return (LEVELS.index(finding.level), finding.rule, tuple(natural(item) for item in finding.items))

    return sorted(findings, key=place)


def grouped(findings: Iterable[Finding]) -> list[Finding]:
    """Findings of one rule with one cause as one, with their items listed under it. A lone one stays as it is.

    Where a rule names no cause, findings that say the very same of different items, with the same value, have one:
    ``ALIKE`` or more of them become one.
    """
    found: list[Finding] = []
    groups: dict[tuple[str, ...], list[Finding]] = {}
    findings = list(findings)
    plain = [f for f in findings if f.cause is None and f.items and not f.listed]
    said = iter(_said.all([((f,), None) for f in plain], lambda new: [_without_names(plain[n]) for n in new]))
    for finding in findings:
        if finding.cause is not None:
            key: tuple[str, ...] = (finding.rule, finding.level, finding.cause.key, finding.accepted)
            groups.setdefault(key, []).append(finding)
        elif finding.items and not finding.listed:
            key = (finding.rule, finding.level, *next(said), finding.accepted)
            groups.setdefault(key, []).append(finding)
        else:
            found.append(finding)
    for members in groups.values():
        if len(members) < (ALIKE if members[0].cause is None else 2):
            found += members
        else:
            found.append(_joined.of(tuple(members), None, lambda members=members: _one(members)))  # type: ignore[misc]
    return found


#: What findings say but for their names, and the one that several make: most stay as they are while a thing is dragged.
_said: Remembered[tuple[str, str]] = Remembered()
_joined: Remembered[Finding] = Remembered(most=100)


def _one(members: list[Finding]) -> Finding:
    if members[0].cause is not None:
        return _together(members)
    cause = _alike(members)
    return _together([replace(member, cause=cause) for member in members])


def one_by_one(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with each row of a grouped one as a finding of its own: for counting, and for comparing two plates."""
    return [
        replace(finding, items=row.items, value=row.value, at=row.at, listed=())
        for finding in findings
        for row in finding.listed or (Listed(finding.items, finding.value, finding.at),)
    ]


def _without_names(finding: Finding) -> tuple[str, str]:
    """Message and remedy with the finding's own items left out."""
    message, remedy = finding.message, finding.remedy
    for place, item in enumerate(finding.items):
        message, remedy = (_without(text, item, f"\0{place}\0") for text in (message, remedy))
    return message, remedy


def _without(text: str, name: str, mark: str) -> str:
    """A text with a name replaced where it stands as a word of its own.

    By hand: a pattern for each name would be compiled again and again on a plate of thousands.
    """
    at = text.find(name) if name else -1
    if at < 0:
        return text
    found, done = "", 0
    while at >= 0:
        end = at + len(name)
        if _wordy(text[at - 1 : at]) or _wordy(text[end : end + 1]):
            at = text.find(name, at + 1)
            continue
        found, done = found + text[done:at] + mark, end
        at = text.find(name, end)
    return found + text[done:]


def _wordy(sign: str) -> bool:
    return sign.isalnum() or sign == "_"


def _alike(members: list[Finding]) -> Cause:
    """The cause of findings that say the same: the first one's words, and how many others they hold for."""
    first, *others = ordered(members)
    names = [" and ".join(other.items) for other in others]
    told = ", ".join(names[:NAMED]) + (f" and {len(names) - NAMED} more" if len(names) > NAMED else "")
    said = f"{first.message} The same for {told}."
    return Cause("", said.replace("{", "{{").replace("}", "}}"), first.remedy.replace("{", "{{").replace("}", "}}"))


def _joint_fix(members: list[Finding]) -> Fix | None:
    """Every member's fix as one; none where one of them has none, or where two set one value in two ways."""
    fixes = [member.fix for member in members]
    if any(fix is None for fix in fixes):
        return None
    changes: dict[str, Change] = {}
    for fix in fixes:
        assert fix is not None
        for change in fix.changes:
            if changes.setdefault(change.pointer, change) != change:
                return None
    assert fixes[0] is not None
    labels = {fix.label for fix in fixes if fix is not None}
    label = fixes[0].label if len(labels) == 1 else f"{fixes[0].label}, and the other {len(members) - 1} likewise"
    return Fix(label, tuple(changes.values()))


def _together(members: list[Finding]) -> Finding:
    members = ordered(members)
    cause = members[0].cause
    assert cause is not None
    sign = 1.0 if cause.worst == "smallest" else -1.0
    worst = min(members, key=lambda member: float("inf") if member.value is None else sign * member.value)
    items = dict.fromkeys(item for member in members for item in member.items)
    return replace(
        worst,
        fix=_joint_fix(members),
        other_fixes=(),
        items=tuple(sorted(items, key=natural)),
        message=cause.message.format(count=len(members)),
        remedy=cause.remedy.format(count=len(members)),
        line=None,
        listed=tuple(Listed(member.items, member.value, member.at) for member in members),
    )
