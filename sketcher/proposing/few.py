"""Why a search offers fewer alternatives than it was to find, in plain words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from sketcher.findings import Finding, mm, rule_named
from sketcher.proposing.ranking import APART_MM

_NUMBERS = ("No", "Only one", "Only two")


def few_words(count: int, refused: Sequence[Sequence[Finding]], attempts: int, *, changed: bool, late: bool) -> str:
    """Why there are so few.

    Args:
        count: how many can be offered, one or two.
        refused: the errors of each layout that all rules looked at and one refused.
        attempts: how often channels were laid.
        changed: whether what is offered changes values of the plate, as nothing passes without.
        late: whether the time ended the search.
    """
    parts = [f"{_NUMBERS[count]} alternative{'' if count == 1 else 's'}:"]
    if changed:
        parts.append("no layout passes with the plate's values as they are, and no other change that was tried helps.")
        return " ".join(parts)
    if refused:
        rules = Counter(rule for errors in refused for rule in {error.rule for error in errors})
        (name, times), *_ = rules.most_common(1)
        rule = rule_named(name)
        title = rule.title if rule is not None else name
        many = len(refused) > 1
        parts.append(
            f"the rules refused {len(refused)} other layouts, {times} of them for “{title}”;"
            if many
            else f"the rules refused one other layout, for “{title}”;"
        )
    if late:
        parts.append("the time was up before more were found. More seconds may bring more.")
    else:
        parts.append(
            f"in {attempts} attempts, with each connection kept off the courses found, nothing else came out that lies "
            f"more than {mm(APART_MM)} from these somewhere."
        )
    return " ".join(parts)
