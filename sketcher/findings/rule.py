"""The rules, each under its stable name: one registry for all that is asked of a plate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sketcher.document import Document

Question = Literal["fits", "flows", "holds", "made"]
#: The source of a rule of the trade that no publication states.
PRACTICE = "common practice, no source"


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


def register(rule: Rule, home: str) -> Rule:
    """Enters a rule; ``home`` is the module that looks after it.

    Raises:
        ValueError: the name is taken.
    """
    if rule.name in _RULES:
        raise ValueError(f"the rule {rule.name!r} is registered twice")
    _RULES[rule.name] = rule
    _HOMES[rule.name] = home
    return rule


def all_rules() -> tuple[Rule, ...]:
    """Every rule, in the order of their names."""
    return tuple(_RULES[name] for name in sorted(_RULES))


def rule_named(name: str) -> Rule | None:
    """The rule of a name; none when there is no such rule."""
    return _RULES.get(name)


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
