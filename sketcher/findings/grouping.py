"""Findings as people work through them: one for one cause, in the natural order of ids."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from operator import attrgetter

from sketcher.document.remembered import Remembered
from sketcher.findings.finding import Cause, Change, Finding, Fix, Listed, natural

#: So many findings that say the same become one; of the others' names so many are told in its sentence.
ALIKE, NAMED = 3, 4


def pair(one: str, other: str) -> tuple[str, str]:
    """Two ids in their natural order."""
    return (one, other) if natural(one) <= natural(other) else (other, one)


def ordered(findings: Iterable[Finding]) -> list[Finding]:
    """Most severe first, then by rule and items, ids in their natural order."""

    return sorted(findings, key=_RANK)


_RANK = attrgetter("rank")


def grouped(findings: Iterable[Finding]) -> list[Finding]:
    """Findings of one rule with one cause as one, with their items listed under it. A lone one stays as it is.

    Where a rule names no cause, findings that say the very same of different items, with the same value, have one:
    ``ALIKE`` or more of them become one.
    """
    found: list[Finding] = []
    groups: dict[str, list[Finding]] = {}
    for finding in findings:
        if finding.cause is not None or (finding.items and not finding.listed):
            groups.setdefault(finding.kind, []).append(finding)
        else:
            found.append(finding)
    for members in groups.values():
        if len(members) < (ALIKE if members[0].cause is None else 2):
            found += members
        else:
            found.append(_joined.of(tuple(members), None, lambda members=members: _one(members)))  # type: ignore[misc]
    return found


#: The one finding that several make: most stay as they are while a thing is dragged.
_joined: Remembered[Finding] = Remembered(most=100)


def _one(members: list[Finding]) -> Finding:
    members = ordered(members)
    return _together(members, members[0].cause or _alike(members))


def one_by_one(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with each row of a grouped one as a finding of its own: for counting, and for comparing two plates."""
    return [
        replace(finding, items=row.items, value=row.value, at=row.at, listed=())
        for finding in findings
        for row in finding.listed or (Listed(finding.items, finding.value, finding.at),)
    ]


def _alike(members: list[Finding]) -> Cause:
    """The cause of findings that say the same: the first one's words, and how many others they hold for."""
    first, *others = members
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


def _together(members: list[Finding], cause: Cause) -> Finding:
    sign = 1.0 if cause.worst == "smallest" else -1.0
    worst = min(members, key=lambda member: float("inf") if member.value is None else sign * member.value)
    items = dict.fromkeys(item for member in members for item in member.items)
    return replace(
        worst,
        cause=cause,
        fix=_joint_fix(members),
        other_fixes=(),
        items=tuple(sorted(items, key=natural)),
        message=cause.message.format(count=len(members)),
        remedy=cause.remedy.format(count=len(members)),
        line=None,
        listed=tuple(member.row for member in members),
    )
