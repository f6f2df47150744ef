"""One finding for one cause: what another finding about the same two things says already, and asks more for."""

from __future__ import annotations

from collections.abc import Iterable

from sketcher.findings import Finding

#: A rule, and the rules whose finding about the same things makes its own an echo. Those ask for the larger move.
ECHOES = {
    "fittings-touch": ("same-place",),
    "fitting-face": (
        "same-place",
        "fittings-touch",
        "head-blocked",
        "overlap-wall-port-cutout",
        "overlap-wall-port-hole",
    ),
    "pocket-wet": ("fitting-face",),
    "head-face": ("same-place", "wall-", "head-blocked"),
    "laser-web": ("same-place", "wall-"),
}


def without_echoes(found: Iterable[Finding]) -> list[Finding]:
    """The findings less those that repeat another one: two ports on one spot are one slip, not four."""
    findings = list(found)
    told: dict[frozenset[str], set[str]] = {}
    for finding in findings:
        if len(finding.items) > 1:
            rules = told.setdefault(frozenset(finding.items), set())
            rules.add(finding.rule)
            if finding.value is not None and finding.value <= 1e-6:  # they overlap: no less than that is the matter
                rules.add(f"overlap-{finding.rule}")
    return [finding for finding in findings if finding.rule not in ECHOES or not _repeats(finding, told)]


def _repeats(finding: Finding, told: dict[frozenset[str], set[str]]) -> bool:
    louder = ECHOES.get(finding.rule)
    if louder is None or len(finding.items) < 2:
        return False
    others = told[frozenset(finding.items)]
    return any(other.startswith(name) if name.endswith("-") else other == name for other in others for name in louder)
