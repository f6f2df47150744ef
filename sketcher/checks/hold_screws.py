"""Does it hold: the screws of the lid."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from sketcher.checks import set_figures
from sketcher.checks.hold_moves import screw_ways
from sketcher.checks.hold_seal import design_of, report_of
from sketcher.checks.hold_side import other_side
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.checks.softer_seal import pull_with_softer_n, softer_fix, softer_words
from sketcher.findings import PRACTICE, Cause, Finding, Point, Rule, mm, ways
from sketcher.reference import screws as screw_table
from sketcher.strength.clamping import ScrewLoad
from sketcher.strength.lid import Clamped
from sketcher.strength.lid_screws import screw_lack
from sketcher.strength.taps import ENGAGED_DIAMETERS, LEAST_DIAMETERS, MOST_DIAMETERS, taps
from sketcher.strength.tightening import NUT_HIGH, NUT_LOW, RELAXED_SHARE, Window, head_preload_n, torque_of


@rules(
    Rule("screw-none", "holds", "Lid screws hold the lid down around every groove", None, "",
         "A cord only seals when it is pressed, all the way round.", PRACTICE),
    Rule("screw-pitch", "holds", "Lid screws are no farther apart than the screw spacing", None, "mm",
         "Between screws that are far apart the lid bends up and the cord loses its squeeze.", PRACTICE),
    Rule("screw-load", "holds", "The threads in the body carry cord and pressure for years", None, "N",
         "A thread in plastic creeps and strips at a load that it takes for an hour.",
         "shear area: FED-STD-H28; half the long-term design stress"),
    Rule("screw-thread", "holds", "Full thread of a lid screw, in diameters", LEAST_DIAMETERS, "",
         "A blind hole loses the tap's run-out and the drill's point: what is left of the thread holds the screw.",
         "guidelines on screws in plastic parts: 2.5 diameters; DIN 76-1 (run-out, from memory)"),
    Rule("screw-floor", "holds", "Floor under a lid screw's blind hole, below the drill's point", 1.5, "mm",
         "A point that comes through lets the coolant's pressure, or the screw, out on the other face.", PRACTICE),
    Rule("screw-torque", "holds", "There is a torque that seals and does not strip", None, "N m",
         "Friction varies: tightened to a torque, a screw may pull twice as much as meant, or half.",
         "T = K F d, K 0.12 to 0.3 (from memory for plastic); bearing pressure and relaxation from memory"),
    Rule("lid-squeeze", "holds", "Squeeze left where the lid bends up between its screws", 10.0, "%",
         "The lid's bending is taken from the squeeze; what is left must still seal.",
         "general handbooks on O-ring glands: at least 10 % in a face seal"),
    slow=True,
)  # fmt: skip
def the_screws(scene: Scene) -> Iterator[Finding]:
    """Lid screws: there, near enough, strong enough."""
    design, document = design_of(scene), scene.document
    if design.problem or document.seal.kind == "bonded" or not len(design.plan.sealed.geoms):
        return
    lid_screws = [hole for hole in document.holes if hole.use == "lid"]
    if not lid_screws:
        yield Finding(
            rule="screw-none",
            level="error",
            items=(),
            at=_beside(scene),
            message="There are no lid screws yet: nothing presses the seal.",
            remedy="Have the lid screws placed, then move them where they suit.",
        )
        return
    if not report_of(scene).on_screws and document.seal.screw in screw_table.names():
        yield Finding(
            rule="screw-none",
            level="error",
            items=tuple(hole.id for hole in lid_screws),
            at=_beside(scene),
            message="The lid is not held: some part of it has fewer than three screws, or all of them in one line.",
            remedy="Have the lid screws placed.",
        )
    yield from _threads(scene)
    yield from _torque(scene)
    for row in report_of(scene).clamped:
        if row.load.name == "dead-head":
            yield from _held_down(scene, row)
            yield from _spaced(scene, row)
    told: set[tuple[str, ...]] = set()
    for items in dict.fromkeys(row.items for row in report_of(scene).clamped):
        rows = [row for row in report_of(scene).clamped if row.items == items]
        for pull in _pulls(scene, rows):
            # A screw between two grooves is in the rows of both.
            if pull.items not in told:
                yield pull
                told.add(pull.items)
        yield from _lifts(scene, rows)


def _held_down(scene: Scene, row: Clamped) -> Iterator[Finding]:
    for place in row.clamping.unheld:
        yield Finding(
            rule="screw-none",
            level="error",
            items=row.items,
            at=place,
            message=f"No lid screw holds the groove around {', '.join(row.items)} down here.",
            **_room_for_one(scene, row, place, scene.document.seal.screw_pitch_mm, "Place lid screws around it."),
            cause=Cause("unheld", "No lid screw holds {count} of the grooves.", "Place lid screws around them."),
        )


def _spaced(scene: Scene, row: Clamped) -> Iterator[Finding]:
    pitch = scene.document.seal.screw_pitch_mm
    for gap in row.clamping.gaps:
        if gap.apart_mm > pitch + 0.01:
            reach = min(gap.apart_mm, pitch) / 2
            yield Finding(
                rule="screw-pitch",
                level="warning",
                items=gap.screws,
                value=gap.apart_mm,
                limit=pitch,
                unit="mm",
                at=gap.at,
                message=f"{gap.screws[0]} and {gap.screws[-1]} are {mm(gap.apart_mm)} apart; "
                f"the maximum is {mm(pitch)}.",
                **_room_for_one(scene, row, gap.at, reach, "Place a lid screw between them."),
                cause=Cause(
                    "pitch",
                    f"{{count}} gaps between lid screws are wider than {mm(pitch)}.",
                    "Place lid screws between them.",
                    "largest",
                ),
            )


def _room_for_one(scene: Scene, row: Clamped, near: Point, reach_mm: float, remedy: str) -> dict[str, Any]:
    """The remedy where a screw is missing: to place one, or, where nothing lets it stand, what to move."""
    walls = screw_walls(scene.limits)
    lack = screw_lack(scene.document, scene.shapes, design_of(scene), near, reach_mm, walls)
    if lack is None:
        return {"remedy": remedy}
    words, fixes = screw_ways(scene, lack, row.items)
    return {"remedy": words, **ways(*fixes, other_side(scene))}


def _pulls(scene: Scene, rows: list[Clamped]) -> Iterator[Finding]:
    """The screw that pulls most against what its thread holds, under the worse of the two loads."""
    held = [(max(row.clamping.loads, key=lambda screw: screw.total_n), row) for row in rows if row.clamping.loads]
    bad = [(screw, row) for screw, row in held if screw.total_n > row.thread_n]
    if not bad:
        return
    screw, row = max(bad, key=lambda one: one[0].total_n / max(one[1].thread_n, 1e-6))
    yield Finding(
        rule="screw-load",
        level="error",
        items=(screw.id,),
        value=screw.total_n,
        limit=row.thread_n,
        unit="N",
        at=_place(scene, screw.id),
        message=f"{screw.id} pulls with {screw.total_n:.0f} N at the {row.load.name} pressure (cord "
        f"{screw.cord_n:.0f}, pressure {screw.pressure_n:.0f}, prying {screw.prying_n:.0f} N); its "
        f"{mm(row.screw_thread_mm)} of thread hold {row.thread_n:.0f} N.",
        remedy=_less_pull(scene, screw, row.thread_n),
        **ways(softer_fix(scene.document.seal), other_side(scene)),
        # The least thread counts for every groove: too little of it is one cause.
        cause=Cause(
            "pull",
            f"The screws of {{count}} grooves pull harder than {mm(row.screw_thread_mm)} of thread hold, up to "
            f"{screw.total_n:.0f} N against {row.thread_n:.0f} N.",
            _less_pull(scene, screw, row.thread_n),
            "largest",
        ),
    )


def _less_pull(scene: Scene, screw: ScrewLoad, holds_n: float) -> str:
    """What ends a pull that is too great; a softer cord first where that is enough."""
    seal = scene.document.seal
    softer, left = softer_words(seal), pull_with_softer_n(seal, screw)
    enough = left is not None and left <= holds_n
    first = f"Take {softer}: it pulls with about {left:.0f} N then. Or place" if enough else "Place"
    also = f" or {softer}" if softer and not enough else ""
    return (
        f"{first} the screws closer (about {100 * holds_n / screw.total_n:.0f} % as far apart), tap deeper, use "
        f"thicker screws{also}, or threaded inserts whose maker gives a pull of at least {insert_n(screw.total_n)} N."
    )


def insert_n(pull_n: float, friction: float = 1.0) -> int:
    """The pull that an insert must bear, N: what is left of its preload after relaxation is the screw's pull.

    ``friction``: how many times the preload may become the wanted one, for not knowing it.
    """
    return math.ceil(friction * pull_n / (1 - RELAXED_SHARE) / 10) * 10


def _lifts(scene: Scene, rows: list[Clamped]) -> Iterator[Finding]:
    """Where the lid lifts most off one groove, under the worse of the two loads."""
    least = scene.limit("lid-squeeze")
    half = min((bent.thickness_mm for bent in report_of(scene).bent if bent.what == "lid"), default=math.inf) / 2
    found = [(row.squeeze_left, row) for row in rows if row.squeeze_left is not None and row.clamping.gaps]
    if not found:
        return
    left, row = min(found, key=lambda one: one[0])
    if 100 * left >= least - 1e-9:
        return
    worst = max(row.clamping.gaps, key=lambda gap: gap.opening_mm)
    yield Finding(
        rule="lid-squeeze",
        level="error",
        items=worst.screws,
        value=100 * left,
        limit=least,
        unit="%",
        at=worst.at,
        message=f"At the {row.load.name} pressure the lid lifts "
        f"{mm(worst.opening_mm) if worst.opening_mm <= half else f'more than {mm(half)}'} here, and "
        f"{f'{100 * left:.0f} % of squeeze' if left > 0 else 'no squeeze'} is left; the minimum is {least:g} %.",
        remedy="Place the screws closer to each other and to the groove, make the lid thicker, or take a thicker or "
        "softer cord.",
        **ways(other_side(scene)),
    )


def _threads(scene: Scene) -> Iterator[Finding]:
    """Blind tapped holes: the thread they have, and the floor below the drill's point."""
    found = taps(scene.document)
    least, floor = scene.limit("screw-thread"), scene.limit("screw-floor")
    shallow = [(id_, tap) for id_, tap in found.items() if tap.thread_mm < least * tap.screw.major_mm - 1e-6]
    if shallow and scene.document.seal.insert_pull_n is None:
        id_, tap = min(shallow, key=lambda row: row[1].thread_mm)
        lacking = least * tap.screw.major_mm - tap.thread_mm
        more = "" if len(shallow) == 1 else f" and {len(shallow) - 1} more"
        yield Finding(
            rule="screw-thread",
            level="error",
            items=tuple(name for name, _ in shallow),
            value=tap.thread_mm / tap.screw.major_mm,
            limit=least,
            at=_place(scene, id_),
            message=f"{id_}{more}: {mm(max(tap.thread_mm, 0.0))} of full thread after {mm(tap.run_out_mm)} of run-out; "
            f"the minimum is {mm(least * tap.screw.major_mm)}.",
            remedy=f"Drill {mm(math.ceil(lacking * 10) / 10)} deeper, ask for a short run-out or a milled thread, "
            "or use threaded inserts.",
            **ways(
                *(
                    set_figures.drilled(
                        scene, {name: _tenths(most * t.screw.major_mm - t.thread_mm) for name, t in shallow}
                    )
                    for most in (least, max(least, ENGAGED_DIAMETERS), max(least, MOST_DIAMETERS))
                )
            ),
        )
    thin = [(id_, tap) for id_, tap in found.items() if tap.floor_mm < floor - 1e-6]
    if thin:
        id_, tap = min(thin, key=lambda row: row[1].floor_mm)
        more = "" if len(thin) == 1 else f" and {len(thin) - 1} more"
        yield Finding(
            rule="screw-floor",
            level="error",
            items=tuple(name for name, _ in thin),
            value=tap.floor_mm,
            limit=floor,
            unit="mm",
            at=_place(scene, id_),
            message=f"{id_}{more}: the drill's point leaves {mm(max(tap.floor_mm, 0.0))} of floor; the minimum is "
            f"{mm(floor)}.",
            remedy=f"Drill {mm(math.ceil((floor - tap.floor_mm) * 10) / 10)} less deep, or make the body thicker.",
            fix=set_figures.drilled(scene, {name: -_tenths(floor - tap.floor_mm) for name, tap in thin}),
        )


def _tenths(lacking_mm: float) -> float:
    """Rounded up to the tenth that a drill is set to."""
    return math.ceil(10 * lacking_mm - 1e-6) / 10


def _torque(scene: Scene) -> Iterator[Finding]:
    """Whether a torque is right for every screw over the range of friction."""
    torque = torque_of(scene.document, report_of(scene))
    if torque is None or not torque.empty:
        return
    worst = max(torque.windows, key=lambda window: window.least_n_m)
    never = torque.never
    softer = softer_words(scene.document.seal)
    what = {"thread": "the thread", "head": "the plastic under the washer", "insert": "the insert"}[worst.limited_by]
    yield Finding(
        rule="screw-torque",
        level="error" if never else "warning",
        items=(worst.id,),
        value=torque.most_n_m,
        limit=torque.least_n_m,
        unit="N m",
        at=_place(scene, worst.id),
        message=f"{worst.id} needs at least {torque.least_n_m:.2f} N m to keep the joint shut{_tied(worst)}, and "
        f"{what} bears {torque.most_n_m:.2f} N m at most"
        + (
            f": {torque.least_preload_n:.0f} N of preload against {torque.most_preload_n:.0f} N."
            if never
            else f" over the usual range of friction (K {NUT_LOW:g} to {NUT_HIGH:g})."
        ),
        **ways(*((softer_fix(scene.document.seal), other_side(scene)) if never else ())),
        remedy=_torque_remedy(scene, worst, never=never, softer=softer),
    )


def _torque_remedy(scene: Scene, worst: Window, *, never: bool, softer: str) -> str:
    """What ends it. Over the range of friction an insert must bear what the highest K asks for when the lowest is met;
    where the washer does not, a stronger insert or a longer thread ends nothing."""
    needed = insert_n(worst.pull_n + worst.tie_n, 1.0 if never else NUT_HIGH / NUT_LOW)
    ways = []
    if needed <= head_preload_n(scene.document):
        ways = [f"threaded inserts whose maker gives at least {needed} N"]
        ways += ["a longer thread"] * (worst.limited_by == "thread")
    ways += ["a thicker floor under the channels"] * (worst.tie_n > 0)
    ways += ["more screws", *([softer] if softer else [])]
    use = f"Use {', '.join(ways[:-1])} or {ways[-1]}" if len(ways) > 1 else f"Use {ways[0]}"
    return use + ("." if never else ", or oil the screws with silicone and have their friction measured.")


def _tied(screw: Window) -> str:
    """What of the torque ties the walls that the coolant pushes apart, in words; nothing where none does."""
    if screw.tie_n < 0.5:
        return ""
    return f" and to tie the walls of its channel, which would fold a thin floor open ({screw.tie_n:.0f} N of it)"


def _place(scene: Scene, hole_id: str) -> tuple[float, float] | None:
    hole = scene.shapes.holes.get(hole_id)
    return None if hole is None else (hole.item.x_mm, hole.item.y_mm)


def _beside(scene: Scene) -> tuple[float, float]:
    """A place on the groove."""
    place = design_of(scene).plan.sealed.geoms[0].exterior.interpolate(0.5, normalized=True)
    return (place.x, place.y)


def screw_walls(limits: Mapping[str, float]) -> dict[str, float]:
    """The walls in force around a lid screw, for ``strength.seal.place_screws``, from the limits of the wall rules."""
    by_part = {"channel": "channel", "bore": "port", "thread": "port", "cutout": "cutout", "pocket": "pocket"}
    walls = {part: limits[f"wall-{family}-hole"] for part, family in by_part.items()}
    web = limits["wall-hole-hole"]
    return {**walls, "hole": web, "head": web, "edge": limits["wall-hole-edge"]}
