"""The rules, each under its stable name, and the running of all of them."""

from __future__ import annotations

import difflib
import gc
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Literal

from sketcher.checks.findings import LEVELS, Finding
from sketcher.checks.scene import Scene
from sketcher.document import Document
from sketcher.flow import FlowResult
from sketcher.geometry import Shapes, build

Question = Literal["fits", "flows", "holds", "made"]
Look = Callable[[Scene], Iterable[Finding]]


@dataclass(frozen=True)
class Rule:
    """A rule: its name, the question it helps to answer, its default limit, and why it is there."""

    name: str
    question: Question
    title: str
    limit: float | None
    unit: str
    reason: str
    source: str


_RULES: dict[str, Rule] = {}
_HOMES: dict[str, str] = {}
_LOOKS: list[Look] = []
_SLOW: set[Look] = set()


def rules(*described: Rule, slow: bool = False) -> Callable[[Look], Look]:
    """Registers the rules that one function looks after.

    A ``slow`` one designs something first (the seal); a drag over a large plate can leave it until the hand is off.

    Raises:
        ValueError: a name is taken.
    """

    def register(look: Look) -> Look:
        for rule in described:
            if rule.name in _RULES:
                raise ValueError(f"the rule {rule.name!r} is registered twice")
            _RULES[rule.name] = rule
            _HOMES[rule.name] = look.__module__
        _LOOKS.append(look)
        if slow:
            _SLOW.add(look)
        return look

    return register


def all_rules() -> tuple[Rule, ...]:
    """Every rule, in the order of their names."""
    return tuple(_RULES[name] for name in sorted(_RULES))


def home_of(name: str) -> str:
    """The module that a rule is written in. Raises ``KeyError`` for an unknown rule."""
    return _HOMES[name]


def limits_of(document: Document) -> dict[str, float]:
    """The limit in force for every rule that has one: the document's, else the default, or the shop's least wall where
    that is more."""
    least = document.shop.least_wall_mm
    found = {
        rule.name: max(rule.limit, least) if rule.name.startswith("wall-") else rule.limit
        for rule in _RULES.values()
        if rule.limit is not None
    }
    found.update({name: limit for name, limit in document.limits.items() if name in found})
    return found


def run(
    document: Document, shapes: Shapes | None = None, *, flow: FlowResult | None = None, quick: bool = False
) -> list[Finding]:
    """Every finding of every rule, most severe first.

    Args:
        document: the plate.
        shapes: its shapes, when they are built already.
        flow: the loop's flow, when it is solved already.
        quick: leave the slow rules out (seal, screws, lid, survey, flow), for a drag over a large plate.
    """
    with _no_collection():
        return look_over(Scene(shapes or build(document), limits_of(document), flow), quick=quick)


@contextmanager
def _no_collection() -> Iterator[None]:
    """Keeps the collector of cycles away meanwhile: there are none, and on a large plate it would walk a hundred
    thousand living shapes again and again."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def look_over(scene: Scene, *, quick: bool = False) -> list[Finding]:
    """Every finding about a scene, most severe first; for whoever needs the scene's seal or flow beside them."""
    document = scene.document
    found = [finding for look in _LOOKS if not (quick and look in _SLOW) for finding in look(scene)]
    reasons = {(entry.rule, frozenset(entry.items)): entry.reason for entry in document.accepted}
    if reasons:
        found = [replace(f, accepted=reasons.get((f.rule, frozenset(f.items)), f.accepted)) for f in found]
    return sorted(found, key=lambda finding: (LEVELS.index(finding.level), finding.rule, finding.items))


@rules(
    Rule(
        "limit-unknown", "made", "Every limit in the document belongs to a rule", None, "",
        "A limit under a misspelt name has no effect, and nobody notices.", "common practice, no source",
    ),
)  # fmt: skip
def _unknown_limits(scene: Scene) -> Iterator[Finding]:
    for name in scene.document.limits:
        rule = _RULES.get(name)
        if rule is not None and rule.limit is not None:
            continue
        near = difflib.get_close_matches(name, [r.name for r in _RULES.values() if r.limit is not None], n=1)
        yield Finding(
            rule="limit-unknown",
            level="warning",
            items=(name,),
            message=f"The limit {name!r} belongs to no rule and has no effect.",
            mend=f"Did you mean {near[0]!r}?" if near else "Remove it from the document's limits.",
        )
