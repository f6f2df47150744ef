"""Does it fit: dimension lines have not lost what they measured."""

from __future__ import annotations

from collections.abc import Iterator

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import PRACTICE, Finding, Rule
from sketcher.geometry.measured_spans import Lost, dimensions

RULE = Rule(
    "dimension-lost",
    "fits",
    "Every dimension line measures something",
    None,
    "",
    "A dimension line whose item, edge or corner is gone is neither drawn nor printed.",
    PRACTICE,
)


@rules(RULE)
def dimensions_lost(scene: Scene) -> Iterator[Finding]:
    """Dimension lines that name what is not there."""
    for one in dimensions(scene.shapes):
        if isinstance(one, Lost):
            yield Finding(
                rule=RULE.name,
                level="note",
                items=(one.id,),
                value=None,
                limit=None,
                unit="",
                at=None,
                message=f"The dimension line {one.id} is not drawn: {one.why}.",
                remedy="Delete it, or measure again and keep the new line.",
            )
