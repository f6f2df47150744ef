"""Does it fit: cutouts, pockets, keep-outs and screw holes that follow a thing are where that thing has them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document.base import Item, Model
from sketcher.findings import PRACTICE, Change, Finding, Fix, Rule, mm
from sketcher.geometry.following import IN_STEP_MM, Stale, out_of_step

RULE = Rule(
    "follows-out-of-step",
    "fits",
    "What follows a thing has moved with it",
    IN_STEP_MM,
    "mm",
    "A cutout that was made along a thing, and stayed behind when the thing moved, is in the wrong place.",
    PRACTICE,
)


@rules(RULE, named=True)
def in_step(scene: Scene) -> Iterator[Finding]:
    """Every follower against what it follows."""
    document = scene.document
    followers = [
        *(area.follows for area in document.cutouts),
        *(area.follows for area in document.pockets),
        *(area.follows for area in document.keep_outs),
        *(hole.follows for hole in document.holes),
    ]
    if not any(followers) and not any(pocket.cable for pocket in document.pockets):
        return
    for stale in out_of_step(scene.shapes):
        item: Item = getattr(document, stale.key)[stale.index]
        off = stale.off_mm if math.isfinite(stale.off_mm) else None
        yield Finding(
            rule=RULE.name,
            level="warning",
            items=(stale.id, stale.leader),
            value=off,
            limit=scene.limits[RULE.name],
            unit="mm",
            at=_place(scene, stale),
            message=f"{stale.id} follows {stale.leader}, but is {mm(off)} from where it belongs."
            if off is not None
            else f"{stale.id} cannot follow {stale.leader}: {stale.why}.",
            remedy="Choose Stop following."
            if off is None
            else f"{'Unlock it and move' if item.locked else 'Move'} it there, or choose Stop following.",
            fix=_fix(stale, item.locked),
        )


def _fix(stale: Stale, locked: bool) -> Fix | None:
    """The place of a screw hole, or a whole outline; what is locked stays where it is."""
    if locked or not stale.values:
        return None
    changes = tuple(Change(f"/{stale.key}/{stale.index}/{key}", _plain(value)) for key, value in stale.values.items())
    return Fix(f"Move {stale.id} along with {stale.leader}", changes)


def _plain(value: object) -> float | dict[str, Any]:
    """An outline as the document's file has it."""
    if isinstance(value, Model):
        return value.model_dump(mode="json", exclude_defaults=False)
    assert isinstance(value, float)
    return value


def _place(scene: Scene, stale: Stale) -> tuple[float, float] | None:
    shapes = scene.shapes
    if stale.key == "holes":
        hole = shapes.holes[stale.id].item
        return (hole.x_mm, hole.y_mm)
    areas = {"cutouts": shapes.cutouts, "pockets": shapes.pockets, "keep_outs": shapes.keep_outs}[stale.key]
    centre = areas[stale.id].polygon.representative_point()
    return (centre.x, centre.y)
