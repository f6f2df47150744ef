"""What would make a draft pass that does not: changes of a few values, each tried under all rules before it is named.

The ways are those that the rules' own fixes and remedies name: a softer cord, threaded inserts, a thicker lid, thicker
screws, an item moved. What passes is offered as an alternative; what does not is told with what the rules still say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from sketcher.checks.fixes import with_fix
from sketcher.checks.hold_screws import insert_n
from sketcher.checks.running import unproven
from sketcher.checks.softer_seal import SOFT_SHORE_A
from sketcher.document import Document, DocumentError, items, with_changes
from sketcher.findings import Finding, Fix
from sketcher.geometry import build
from sketcher.proposing.budget import ALL_RULES_S, SCREWS_S, Budget
from sketcher.proposing.judging import Judged, judge
from sketcher.proposing.plate_changes import plate_changes
from sketcher.proposing.writing import design_in, drilled, without_lid_screws
from sketcher.reference import screws

#: So many changes that pass are offered for one draft.
WANTED = 3
#: The next sheets that are tried as a lid, and the next threads.
_SHEETS, _THREADS = 2, 2
#: Rules of lid and screws begin like this: what ends their errors is a change of the seal or the lid.
OF_LID = ("screw-", "lid-", "groove-", "seal-")
#: A fix changes one of these, never a limit or what the user wished for.
_FIXED = ("seal", "plate", "channels", "branches", "ports", "holes", "cutouts", "pockets")

Known = frozenset[tuple[str, tuple[str, ...]]]
Judging = Callable[[Document, Known], Judged]


@dataclass(frozen=True)
class Tried:
    """A change that was tried and did not do: what it was, and what the rules still said."""

    words: str
    left: str


@dataclass(frozen=True)
class Remedied:
    """The plates that pass, each after one change, or two, with that change; and what was tried in vain."""

    passing: tuple[Judged, ...]
    tried: tuple[Tried, ...]
    changes: tuple[_Change, ...] = ()


def remedied(
    draft: Judged,
    before: Document,
    limits: Mapping[str, float],
    budget: Budget,
    *,
    judged: Judging = judge,
    found: Callable[[Document], Sequence[Finding]] = unproven,
) -> Remedied:
    """Changes of a draft's values after which no rule finds an error that was not there before.

    Args:
        draft: with all joined, its lid screws designed, and errors.
        before: the plate that was asked about: what changes are told against.
        limits: in force, by rule.
        budget: what the trials may take.
        judged: gives a plate under every rule.
        found: gives its findings with their fixes, untried.
    """
    passing: list[Judged] = []
    tried: list[Tried] = []
    changes: list[_Change] = []
    single = list(_single(draft, found))
    pairs = [(*one, *other) for one, other in combinations(single, 2) if _join(one, other)]
    for number, change in enumerate([*single, *pairs]):
        # Two values are changed only where one does not do.
        if not budget.left() or len(passing) >= WANTED or (passing and number >= len(single)):
            break
        good, left = with_change(draft, change, limits, budget, judged)
        if good is not None:
            passing.append(good)
            changes.append(change)
        elif left is not None:
            told = " and ".join(one.words for one in plate_changes(left.document, before)) or change[0].label
            tried.append(Tried(told, next((one.message for one in left.own_errors), "")))
    return Remedied(tuple(passing), tuple(tried), tuple(changes))


def with_change(
    draft: Judged, change: _Change, limits: Mapping[str, float], budget: Budget, judged: Judging = judge
) -> tuple[Judged | None, Judged | None]:
    """A draft with a change, when no rule then finds an error that was not there before; else what they find."""
    left: Judged | None = None
    for document in _made(draft.document, change, limits):
        budget.spend(SCREWS_S + ALL_RULES_S)
        left = judged(document, draft.known)
        if left.good:
            return left, None
    return None, left


@dataclass(frozen=True)
class _Set:
    """Values of the seal or of the plate."""

    part: str
    key: str
    value: float | str

    @property
    def label(self) -> str:
        return f"{self.key} {self.value}"


_Change = tuple[Fix | _Set, ...]


def _join(one: _Change, other: _Change) -> bool:
    """Whether two changes can be made together: of two different values."""
    return all(isinstance(part, _Set) for part in (*one, *other)) and {
        part.key for part in one if isinstance(part, _Set)
    }.isdisjoint(part.key for part in other if isinstance(part, _Set))


def _single(draft: Judged, found: Callable[[Document], Sequence[Finding]]) -> Iterator[_Change]:
    """One change each, the cheapest to carry out first."""
    document = draft.document
    if any(error.rule.startswith(OF_LID) for error in draft.own_errors):
        yield from _of_lid(document, draft.own_errors)
    locked = {id_ for id_, item in items(document).items() if getattr(item, "locked", False)}
    asked = {error.rule for error in draft.own_errors}
    told: list[Fix] = []
    for finding in found(document):
        if finding.rule not in asked or not finding.open_error:
            continue
        for fix in (finding.fix, *finding.other_fixes):
            if fix is None or fix in told or not _allowed(document, fix, locked):
                continue
            told.append(fix)
            if any(change.pointer != "/seal/hardness_shore_a" for change in fix.changes):
                yield (fix,)


def _of_lid(document: Document, errors: Sequence[Finding]) -> Iterator[_Change]:
    seal, plate = document.seal, document.plate
    if seal.kind == "cord" and seal.hardness_shore_a > SOFT_SHORE_A:
        yield (_Set("seal", "hardness_shore_a", SOFT_SHORE_A),)
    thicker = sorted(one for one in document.shop.stock_thicknesses_mm if one > plate.lid_thickness_mm)
    for thickness in thicker[:_SHEETS]:
        yield (_Set("plate", "lid_thickness_mm", thickness),)
    pull = max((error.value or 0.0 for error in errors if error.rule == "screw-load"), default=0.0)
    if pull and (seal.insert_pull_n or 0.0) < insert_n(pull):
        yield (_Set("seal", "insert_pull_n", float(insert_n(pull))),)
    pinned = any(hole.use == "lid" and hole.locked for hole in document.holes)
    if seal.screw in screws.names() and not pinned:
        own = screws.screw(seal.screw).major_mm
        sizes = sorted((size, name) for name in screws.names() if (size := screws.screw(name).major_mm) > own)
        for _, name in sizes[:_THREADS]:
            yield (_Set("seal", "screw", name),)


def _allowed(document: Document, fix: Fix, locked: set[str]) -> bool:
    """Whether a fix is of something that a proposal may change: nothing that is locked, no limit."""
    for change in fix.changes:
        key, *rest = change.pointer.strip("/").split("/")
        if key not in _FIXED:
            return False
        if key not in ("seal", "plate"):
            index = int(rest[0]) if rest and rest[0].isdigit() else -1
            listed = getattr(document, key)
            if not 0 <= index < len(listed) or listed[index].id in locked:
                return False
    return True


def _made(document: Document, change: _Change, limits: Mapping[str, float]) -> Iterator[Document]:
    """The plate with a change: its lid screws designed anew, which may need fewer, and as they are."""
    try:
        changed = document
        for one in change:
            changed = with_fix(changed, one) if isinstance(one, Fix) else _with(changed, one)
    except (DocumentError, IndexError, ValueError):
        return
    seal = changed.seal
    if seal.kind != "bonded" and not seal.screws_by_rule and seal.screw in screws.names():
        bare = without_lid_screws(changed)
        design = design_in(bare, build(bare), limits, seal.screw, seal.grooves)
        if design.works:
            yield drilled(changed, design)
    # Screws in place have holes of their own thread.
    if seal.screws_by_rule or seal.screw == document.seal.screw:
        yield changed


def _with(document: Document, one: _Set) -> Document:
    part, told = getattr(document, one.part), {one.key: one.value}
    if one.key == "lid_thickness_mm" and document.plate.lid_thickness_is == "measured":
        told["lid_thickness_is"] = "nominal"  # it was another sheet that was measured
    return with_changes(document, **{one.part: part.model_copy(update=told)})
