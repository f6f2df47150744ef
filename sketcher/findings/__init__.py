"""What is asked of a plate and what was found: one Rule, one Finding, one registry for every folder above."""

from sketcher.findings.finding import (
    LEVELS,
    Change,
    Finding,
    Fix,
    Level,
    Point,
    counts,
    findings_json,
    mm,
)
from sketcher.findings.rule import PRACTICE, Question, Rule, all_rules, home_of, limits_of, register, rule_named

__all__ = [
    "LEVELS",
    "PRACTICE",
    "Change",
    "Finding",
    "Fix",
    "Level",
    "Point",
    "Question",
    "Rule",
    "all_rules",
    "counts",
    "findings_json",
    "home_of",
    "limits_of",
    "mm",
    "register",
    "rule_named",
]
