"""What is asked of a plate and what was found: one Rule, one Finding, one registry for every folder above."""

from sketcher.findings.finding import (
    LEVELS,
    Cause,
    Change,
    Finding,
    Fix,
    Level,
    Listed,
    Point,
    counts,
    findings_json,
    mm,
    natural,
    ways,
)
from sketcher.findings.grouping import ALIKE, grouped, one_by_one, ordered, pair
from sketcher.findings.rule import PRACTICE, Question, Rule, all_rules, home_of, limits_of, register, rule_named

__all__ = [
    "ALIKE",
    "LEVELS",
    "PRACTICE",
    "Cause",
    "Change",
    "Finding",
    "Fix",
    "Level",
    "Listed",
    "Point",
    "Question",
    "Rule",
    "all_rules",
    "counts",
    "findings_json",
    "grouped",
    "home_of",
    "limits_of",
    "mm",
    "natural",
    "one_by_one",
    "ordered",
    "pair",
    "register",
    "rule_named",
    "ways",
]
