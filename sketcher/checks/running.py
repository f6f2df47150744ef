"""The running of the rules: each function that looks after some, and all of them over one plate."""

from __future__ import annotations

import difflib
import logging
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from sketcher.checks.crowd import too_much
from sketcher.checks.dragging import Found, Looked, Step, keep, step_to
from sketcher.checks.echoes import without_echoes
from sketcher.checks.fixes import proven, without_fixes
from sketcher.checks.scene import Scene
from sketcher.document import Document
from sketcher.document.collector import without_collection
from sketcher.document.remembered import Remembered
from sketcher.findings import Finding, Question, Rule, all_rules, grouped, limits_of, ordered, register, rule_named
from sketcher.flow import FlowResult
from sketcher.geometry import Shapes, build
from sketcher.strength.screw_design import ScrewDesign

Look = Callable[[Scene], Iterable[Finding]]
After = Callable[[list[Finding]], Iterable[Finding]]
QUESTIONS: tuple[Question, ...] = ("fits", "flows", "holds", "made")
_UNCHECKED = {f"unchecked-{question}" for question in QUESTIONS}

_LOOKS: list[Look] = []
#: The looks that a drag leaves until the hand is off, and those that ask for the solved loop.
_SLOW: set[Look] = set()
_OF_LOOP: set[Look] = set()
_DESCRIBED: dict[Look, tuple[Rule, ...]] = {}
#: The looks that look at items and what is near or tied to them, with what is done with all their findings at the end.
_LOCAL: dict[Look, After] = {}
#: Of these the looks whose findings depend on no bystander.
_NAMED: set[Look] = set()
#: Of the other looks the lists of items that they read the places of; all of them where nothing is said.
_READS: dict[Look, frozenset[str]] = {}


def _as_found(found: list[Finding]) -> list[Finding]:
    return found


def rules(
    *described: Rule,
    slow: bool = False,
    of_loop: bool = False,
    local: bool = False,
    named: bool = False,
    after: After = _as_found,
    reads: Iterable[str] | None = None,
) -> Callable[[Look], Look]:
    """Registers the rules that one function looks after.

    While a thing is dragged, a ``local`` look is asked about its neighbourhood alone: each of its findings depends on
    the items that it names, on what is tied to those (``extents.ties``), and on what is within ``dragging.REACH_MM`` of
    them in plan; a finding that names no item depends on no item's place. A ``named`` look is local, and its findings
    depend on nothing else than the items that they name and what is tied to those: no third thing that is near can
    bring, change or end one. What binds findings together, or chooses among them, is done ``after``, with all of
    them. Any other look is asked about the whole plate. Each is asked only when anything has moved in the lists of
    items that it ``reads`` the places of, where it says which.

    A ``slow`` one designs the seal first, or adds up every spread and finds no errors; a drag can leave it until the
    hand is off. One ``of_loop`` needs the flow solved; a search that only lays channels can leave it.

    Raises:
        ValueError: a name is taken.
    """

    def entered(look: Look) -> Look:
        for rule in described:
            register(rule, look.__module__)
        _DESCRIBED[look] = described
        _LOOKS.append(look)
        if slow:
            _SLOW.add(look)
        if of_loop:
            _OF_LOOP.add(look)
        if local or named:
            _LOCAL[look] = after
        if named:
            _NAMED.add(look)
        if reads is not None:
            _READS[look] = frozenset(reads)
        return look

    return entered


def run(
    document: Document,
    shapes: Shapes | None = None,
    *,
    flow: FlowResult | None = None,
    quick: bool = False,
    fixes: bool = True,
    loop: bool = True,
) -> list[Finding]:
    """Every finding of every rule, most severe first.

    Args:
        document: the plate.
        shapes: its shapes, when they are built already.
        flow: the loop's flow, when it is solved already.
        quick: leave the slow rules out, for a drag: those that design the seal first (groove, screws, lid), and the
            chances, which are no errors. All other errors are found.
        fixes: try the fixes out, which runs the rules again for each; a search that shows none leaves it.
        loop: solve the loop for the rules that need it. Without, a quick look knows of it what was solved before.
    """
    from sketcher.checks.by_rule import with_lid_screws  # it needs the limits of rules that are registered here

    with without_collection():
        stored = document
        if shapes is None and not quick:
            document = with_lid_screws(document)
        scene = Scene(shapes or build(document), limits_of(document), flow)
        return look_over(scene, quick=quick, fixes=fixes, stored=stored, loop=loop)


def look_over(
    scene: Scene,
    *,
    quick: bool = False,
    fixes: bool = True,
    stored: Document | None = None,
    loop: bool = True,
    wanted: Callable[[], bool] = lambda: True,
) -> list[Finding]:
    """Every finding about a scene, most severe first; for whoever needs the scene's seal or flow beside them.

    ``stored`` is the document as it is kept, where the scene's has lid screws by rule in it: fixes are put into that
    one, and its screws follow. ``wanted`` is asked before each trial of a fix: no more are tried when nobody waits.
    """
    document = scene.document
    # What a drag moves is a step from a plate that was looked over: no crowd comes of it before the hand is off.
    if scene.step is None and (crowd := too_much(scene, QUESTIONS)) is not None:
        return crowd
    scene.fixes = fixes and not quick
    left = _SLOW if quick else set()
    if quick and not loop and not scene.flow_at_hand:
        left = left | _OF_LOOP
    looks = [look for look in _LOOKS if look not in left]
    found = _dragged(scene, looks) if quick and scene.dragged else _looked(scene, looks)
    reasons = {(entry.rule, frozenset(entry.items)): entry.reason for entry in document.accepted}
    found = ordered(_accepted(grouped(_accepted(found, reasons)), reasons))
    if quick or not fixes:
        return without_fixes(found)  # nobody is offered what was not tried
    from sketcher.checks.by_rule import by_rule

    kept = document if stored is None else stored
    # A fix changes little: what held the lid before is tried first.
    design = by_rule(kept).design
    like = design if design is not None and (design.works or design.only_grooves) else None
    return proven(
        kept,
        found,
        lambda changed: run(changed, quick=True, loop=False),
        lambda document, *, error: unproven(document, like, whole=error),
        0 if design is None else design.tried if like is None else like.bent,
        wanted,
        lambda changed: sum(hole.use == "lid" for hole in by_rule(changed, like=like).document.holes),
    )


def unproven(document: Document, like: ScrewDesign | None = None, *, whole: bool = True) -> list[Finding]:
    """All rules over a changed document, its screws by rule in their new places, their fixes untried; ``like`` and
    ``whole`` as for ``by_rule``."""
    from sketcher.checks.by_rule import by_rule

    document = by_rule(document, like=like, whole=whole).document
    scene = Scene(build(document), limits_of(document))
    return grouped(_looked(scene, _LOOKS))


def scene_for(document: Document, *, quick: bool = False) -> Scene:
    """The scene of a document; in a drag it is made from the one before, where there is one."""
    step = step_to(document) if quick else None
    scene = Scene(build(document) if step is None else step.shapes, limits_of(document))
    scene.step, scene.dragged = step, quick
    return scene


def _dragged(scene: Scene, looks: Sequence[Look]) -> list[Finding]:
    """What the rules find in the quick way: of what was looked over before only what a move concerns, anew."""
    step: Step | None = scene.step
    found: Found = {}
    if step is not None:
        try:
            found = _stepped(scene, step, looks)
        except Exception:
            logging.getLogger(__name__).exception("the part that a drag concerns could not be looked over alone")
            step = None
    if step is None:
        for look in looks:
            try:
                found[look] = tuple(look(scene))
            except Exception:
                return _looked(scene, looks)
    keep(Looked(scene.shapes, found, None if step is None else (step.before, step.boxes)))
    its = (finding for look in looks for finding in _together(look, found[look]))
    return without_echoes(its, scene)


def _together(look: Look, found: tuple[Finding, ...]) -> Iterable[Finding]:
    """A look's findings as they are told, which is remembered: most moves change none of them."""
    after = _LOCAL.get(look, _as_found)
    return found if after is _as_found else _told.of(found, after, lambda: tuple(after(list(found))))


_told: Remembered[tuple[Finding, ...]] = Remembered(most=100)


def _stepped(scene: Scene, step: Step, looks: Iterable[Look]) -> Found:
    before, found = step.before.found, Found()
    scenes: dict[bool, Scene] = {}

    def part(named: bool) -> Scene:
        if named not in scenes:
            shapes = step.named_part if named else step.part
            # Where most of the plate is concerned the whole is looked over, with what it knows of itself already.
            scenes[named] = scene if shapes is scene.shapes else Scene(shapes, scene.limits)
            scenes[named].fixes = scene.fixes
        return scenes[named]

    for look in looks:
        if look not in before:
            found[look] = tuple(look(scene))
        elif look in _READS and step.touched.isdisjoint(_READS[look]):
            found[look] = before[look]
        elif look in _LOCAL:
            named = look in _NAMED
            found[look] = tuple(step.merged(before[look], look(part(named)), named))
        else:
            found[look] = tuple(look(scene))
    return found


def _looked(scene: Scene, looks: Iterable[Look]) -> list[Finding]:
    """What the rules find. One that fails is an error itself, so that the others are heard and nothing looks good."""
    found: list[Finding] = []
    failed: dict[str, list[Look]] = {}
    for look in looks:
        try:
            found += _LOCAL.get(look, _as_found)(list(look(scene)))
        except Exception as error:
            if f"{type(error).__name__}: {error}" not in failed:
                logging.getLogger(__name__).exception("%s.%s failed", look.__module__, look.__name__)
            failed.setdefault(f"{type(error).__name__}: {error}", []).append(look)
    return [*without_echoes(found, scene), *(finding for why, its in failed.items() for finding in _failures(why, its))]


def _failures(why: str, looks: Sequence[Look]) -> Iterator[Finding]:
    """One error for each question that was not answered whole."""
    names: dict[Question, list[str]] = {}
    for rule in (rule for look in looks for rule in _DESCRIBED.get(look, ())):
        names.setdefault(rule.question, []).append(rule.name)
    for question, missed in names.items():
        yield Finding(
            rule=f"unchecked-{question}",
            level="error",
            items=(),
            message=f"The program failed while it checked {', '.join(missed)} ({why[:120]}).",
            remedy="The plate is safe, but this was not checked: undo the last change, and report what it was.",
        )


@rules(
    *(
        Rule(
            f"unchecked-{question}", question, "Every rule of this question could be followed to its end", None, "",
            "A rule that the program failed at has found nothing, and that must not look like a good answer.",
            "common practice, no source",
        )
        for question in QUESTIONS
    ),
    reads=(),
)  # fmt: skip
def _unchecked(scene: Scene) -> Iterator[Finding]:
    """What fails is found while the rules run."""
    return iter(())


def _accepted(found: list[Finding], reasons: dict[tuple[str, frozenset[str]], str]) -> list[Finding]:
    """The findings with the reasons that the user gave; one that was accepted before it was grouped stays so."""
    if not reasons:
        return found
    # What was not checked cannot be accepted: nobody knows what it would have said.
    return [
        f if f.rule in _UNCHECKED else replace(f, accepted=reasons.get((f.rule, frozenset(f.items)), f.accepted))
        for f in found
    ]


@rules(
    Rule(
        "limit-unknown", "made", "Every limit in the document belongs to a rule", None, "",
        "A limit under a misspelt name has no effect, and nobody notices.", "common practice, no source",
    ),
    reads=(),
)  # fmt: skip
def _unknown_limits(scene: Scene) -> Iterator[Finding]:
    for name in scene.document.limits:
        rule = rule_named(name)
        if rule is not None and rule.limit is not None:
            continue
        near = difflib.get_close_matches(name, [r.name for r in all_rules() if r.limit is not None], n=1)
        yield Finding(
            rule="limit-unknown",
            level="warning",
            items=(name,),
            message=f"The limit {name!r} belongs to no rule and has no effect.",
            remedy=f"Did you mean {near[0]!r}?" if near else "Remove it from the document's limits.",
        )
