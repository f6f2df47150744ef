"""How sure: the chance that all tubes land, held against what the user asks for; ties that name nothing."""

from __future__ import annotations

from collections.abc import Iterator

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document import DocumentError
from sketcher.document.spreads import Spreads
from sketcher.findings import PRACTICE, Finding, Rule
from sketcher.sureness.assessment import assess, percent


@rules(
    Rule("landing-chance", "fits", "All tubes land together with the chance asked for", None, "%",
         "Every spread adds up: a plate on which each tube may land by itself can still miss one of them.",
         "propagation of uncertainty, JCGM 100; what fittings forgive is assumed: no published figure"),
    Rule("tie-unknown", "fits", "Ties name hardware and survey points that exist", None, "",
         "A tie to nothing carries no spread, and nobody notices.", PRACTICE),
    slow=True,
)  # fmt: skip
def landings(scene: Scene) -> Iterator[Finding]:
    """The chance of all tubes together; a note while every spread is only assumed."""
    document = scene.document
    yield from _ties(scene)
    if not any(port.serves for port in document.ports):
        return
    try:
        sure = assess(document, scene.shapes, advice=False)
    except DocumentError:
        return  # the survey's own rule says so
    weakest = sure.weakest
    if sure.chance is None or weakest is None or 100 * sure.chance >= sure.limit_percent:
        return
    told = document.spreads != Spreads() or bool(document.ties)
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
        remedy="See what would raise it most: a finer reading, a tie to the survey, a test piece, or slotted holes."
        + ("" if told else " The spreads are assumed; type your own."),
    )


def _ties(scene: Scene) -> Iterator[Finding]:
    document = scene.document
    known = {item.id for item in (*document.boards, *document.devices, *document.floor.obstacles)}
    points = {point.id for point in document.survey.points}
    for tie in document.ties:
        missing = [name for name in tie.points if name not in points]
        if tie.item in known and not missing:
            continue
        what = f"no hardware is called {tie.item!r}" if tie.item not in known else f"no point is called {missing[0]!r}"
        yield Finding(
            rule="tie-unknown",
            level="warning",
            items=(tie.item,),
            at=scene.place(tie.item),
            message=f"The tie of {tie.item} has no effect: {what}.",
            remedy="Tie it to points of the survey again, or remove the tie.",
        )
