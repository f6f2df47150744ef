"""How sure: the chance that all tubes land, held against what the user asks for; ties that name nothing."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from typing import Any

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document import Document, DocumentError
from sketcher.document.spreads import Spreads
from sketcher.findings import PRACTICE, Change, Finding, Fix, Rule
from sketcher.sureness.assessment import Sureness, assess, percent
from sketcher.survey import adjusted as survey
from sketcher.survey.ties import Moved, follow


@rules(
    Rule("landing-chance", "fits", "All tubes land together with the chance asked for", None, "%",
         "Every spread adds up: a plate on which each tube may land by itself can still miss one of them.",
         "propagation of uncertainty, JCGM 100; what fittings forgive is assumed: no published figure"),
    Rule("clearance-chance", "fits", "Each clearance holds with the chance asked for", None, "%",
         "Parts that clear each other as drawn can touch once they stand where they really stand.",
         "propagation of uncertainty, JCGM 100"),
    Rule("tie-unknown", "fits", "Ties name hardware and survey points that exist", None, "",
         "A tie to nothing carries no spread, and nobody notices.", PRACTICE),
    Rule("tie-moved", "fits", "Tied hardware stands where its survey points put it", None, "mm",
         "A new reading has moved the points; ports are still placed for where the hardware was.", PRACTICE),
    slow=True,
)  # fmt: skip
def landings(scene: Scene) -> Iterator[Finding]:
    """The chance of all tubes together and of each clearance; a note while every spread is only assumed."""
    document = scene.document
    yield from _unknown_ties(scene)
    yield from _moved_ties(scene)
    try:
        sure = assess(document, scene.shapes, advice=False)
    except DocumentError:
        return  # the survey's own rule says so
    told = document.spreads != Spreads() or bool(document.ties)
    yield from _tubes(scene, sure, told)
    for one in sure.clearances:
        if 100 * one.chance >= sure.limit_percent:
            continue
        yield Finding(
            rule="clearance-chance",
            level="warning" if told else "note",
            items=tuple(name for name in one.items if name not in ("floor", "plate")),
            value=100 * one.chance,
            limit=sure.limit_percent,
            unit="%",
            at=one.at,
            message=f"{one.words[:1].upper()}{one.words[1:]} clear each other in {percent(one.chance)} of such builds: "
            f"{one.gap_mm:.2f} mm as drawn, with a spread of {one.sigma_mm:.2f} mm.",
            remedy=f"Leave {one.needed_mm(sure.limit_percent):.1f} mm between them, or measure their places finer."
            + ("" if told else " The spreads are assumed; type your own."),
        )


def _tubes(scene: Scene, sure: Sureness, told: bool) -> Iterator[Finding]:
    weakest = sure.weakest
    if sure.chance is None or weakest is None or 100 * sure.chance >= sure.limit_percent:
        return
    # Advice takes longer than the chances: only where there is something to advise.
    advice = assess(scene.document, scene.shapes).advice
    remedy = f"{advice[0].do}: that makes it {percent(advice[0].chance)}." if advice else "Nothing known raises it."
    yield Finding(
        rule="landing-chance",
        level="warning" if told else "note",
        items=(weakest.drop.port,),
        value=100 * sure.chance,
        limit=sure.limit_percent,
        unit="%",
        at=weakest.drop.at,
        message=f"All {len(sure.tubes)} tubes land in {percent(sure.chance)} of such builds; "
        f"{weakest.drop.port} is the weakest with {percent(weakest.chance)}.",
        remedy=remedy + ("" if told else " The spreads are assumed; type your own."),
    )


def _unknown_ties(scene: Scene) -> Iterator[Finding]:
    document = scene.document
    known = {item.id: item for item in (*document.boards, *document.devices, *document.floor.obstacles)}
    points = {point.id for point in document.survey.points}
    count = Counter(tie.item for tie in document.ties)
    for index, tie in enumerate(document.ties):
        missing = [name for name in tie.points if name not in points]
        if tie.item not in known:
            what = f"no hardware is called {tie.item!r}"
        elif missing:
            what = f"no point is called {missing[0]!r}"
        elif holder := getattr(known[tie.item], "held_by", None):
            what = f"{holder} holds {tie.item}, so that only a tie of {holder} counts"
        elif count[tie.item] > 1 and any(later.item == tie.item for later in document.ties[index + 1 :]):
            what = f"{tie.item} is tied once more, and the last tie counts"
        else:
            continue
        yield Finding(
            rule="tie-unknown",
            level="warning",
            items=(tie.item,),
            at=scene.place(tie.item),
            message=f"The tie of {tie.item} has no effect: {what}.",
            remedy="Tie it to points of the survey again, or remove the tie.",
        )


def _moved_ties(scene: Scene) -> Iterator[Finding]:
    document = scene.document
    if not any(tie.places for tie in document.ties):
        return
    try:
        followed = follow(document, survey.adjust(document))
    except (DocumentError, ValueError):
        return  # the survey's own rule says so
    for moved in followed.moves:
        away = math.hypot(moved.dx_mm, moved.dy_mm)
        turn = f", turned {moved.turn_deg:+.2f}°" if abs(moved.turn_deg) >= 0.005 else ""
        words = f"{abs(moved.dx_mm):.2f} mm to the {'right' if moved.dx_mm >= 0 else 'left'} and "
        words += f"{abs(moved.dy_mm):.2f} mm to the {'rear' if moved.dy_mm >= 0 else 'front'}{turn}"
        yield Finding(
            rule="tie-moved",
            level="warning",
            items=(moved.item,),
            value=away,
            unit="mm",
            at=scene.place(moved.item),
            message=f"The survey points that {moved.item} is tied to have moved since it was placed: {words}.",
            remedy=f"Move {moved.item} along, or cut its tie.",
            fix=Fix(f"Move {moved.item} with the survey", _changes(document, followed.document, moved)),
        )


def _changes(before: Document, after: Document, moved: Moved) -> tuple[Change, ...]:
    """The values that move one item, and those that note where its points are."""
    found: list[Change] = []
    for path, one, other in (
        ("/boards", before.boards, after.boards),
        ("/devices", before.devices, after.devices),
        ("/floor/obstacles", before.floor.obstacles, after.floor.obstacles),
        ("/ties", before.ties, after.ties),
    ):
        for index, (was, now) in enumerate(zip(one, other, strict=True)):
            if moved.item in (getattr(was, "id", None), getattr(was, "item", None)):
                found += _differing(f"{path}/{index}", was.model_dump(), now.model_dump())
    return tuple(found)


def _differing(pointer: str, was: Any, now: Any) -> Iterator[Change]:
    if isinstance(was, dict):
        for key in was:
            yield from _differing(f"{pointer}/{key}", was[key], now[key])
    elif isinstance(was, (list, tuple)):
        for index, (a, b) in enumerate(zip(was, now, strict=True)):
            yield from _differing(f"{pointer}/{index}", a, b)
    elif isinstance(now, float) and was != now:
        yield Change(pointer, now)
