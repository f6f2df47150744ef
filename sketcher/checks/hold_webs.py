"""Does it hold: where the body is thin: over pockets of its outer face, and as it bends against the lid."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from sketcher.checks import set_figures
from sketcher.checks.hold_seal import design_of, report_of
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import Change, Finding, Fix, Rule, mm, ways
from sketcher.strength.load import worst_over
from sketcher.strength.over_sheet import on_thin_sheet
from sketcher.strength.pocket_webs import Web, pocket_webs

PLATE = "Kirchhoff's plate (Timoshenko, Theory of Plates and Shells), fixed around the pocket, by B-splines"
#: A web that bends by more than this share of its thickness is beyond the theory of thin plates.
_SMALL = 0.5


@rules(
    Rule("web-stress", "holds", "Stress in what a pocket leaves of the body under coolant or groove", None, "MPa",
         "Water creeps under the lid up to the cord, and the cord pushes on its groove: a thin web over a pocket bears "
         "both.", PLATE),
    Rule("web-squeeze", "holds", "Squeeze left where the groove runs over a pocket of the other face", 10.0, "%",
         "A groove whose floor gives way loses squeeze, as it does where the lid lifts.",
         PLATE + "; general handbooks on O-ring glands: at least 10 % in a face seal"),
    slow=True,
)  # fmt: skip
def over_pockets(scene: Scene) -> Iterator[Finding]:
    """The webs over the body's pockets: of the two loads the worse one speaks for each."""
    design = design_of(scene)
    if design.problem:
        return
    thin = on_thin_sheet(scene.document)
    thinner = {} if thin is None else _by_pocket(pocket_webs(thin, scene.shapes, design))
    for items, rows in _by_pocket(pocket_webs(scene.document, scene.shapes, design)).items():
        web = worst_over(rows)
        told = list(_sagging(scene, rows)) if web is None else [_stressed(scene, web)]
        yield from told
        thinnest = None if told else worst_over(thinner.get(items, ()))
        if thinnest is not None and thin is not None:
            yield _on_the_thinnest(thinnest, thin.plate.body_thickness_mm)


def _by_pocket(webs: Iterable[Web]) -> dict[tuple[str, ...], list[Web]]:
    found: dict[tuple[str, ...], list[Web]] = {}
    for web in webs:
        found.setdefault(web.items, []).append(web)
    return found


def _on_the_thinnest(web: Web, body_mm: float) -> Finding:
    """A web that holds as drawn, and not where the body's sheet is as thin as it may be."""
    limit = web.load.design_stress_mpa
    return Finding(
        rule="web-stress",
        level="warning",
        items=web.items,
        value=web.stress_mpa,
        limit=limit,
        unit="MPa",
        at=web.at,
        message=f"The body's sheet may be {mm(body_mm)} thick: what is then left over {_names(web)} bears "
        f"{web.stress_mpa:.1f} MPa at the {web.load.name} pressure; the maximum is {limit:g} MPa.",
        remedy=f"Measure the body's sheet and type in what it is, or have it faced to size; or make {_names(web)} less "
        "deep.",
    )


def _names(web: Web) -> str:
    return ", ".join(web.items)


def _stressed(scene: Scene, web: Web) -> Finding:
    limit = web.load.design_stress_mpa
    # Stress goes with 1 / t²: where all of it is thicker by that share, none of it bears more.
    more = web.beside_mm * (math.sqrt(web.stress_mpa / limit) - 1)
    pushed = "coolant and cord" if web.under_cord else "coolant"
    return Finding(
        rule="web-stress",
        level="error",
        items=web.items,
        value=web.stress_mpa,
        limit=limit,
        unit="MPa",
        at=web.at,
        message=f"At the {web.load.name} pressure of {web.load.pressure_kpa:g} kPa the {mm(web.thickness_mm)} of body "
        f"left over {_names(web)} bear {web.stress_mpa:.1f} MPa under {pushed}; the maximum is {limit:g} MPa.",
        remedy=_remedy(web, more),
        **ways(*_shallower(scene, web, more)),
    )


def _remedy(web: Web, more_mm: float) -> str:
    what = "groove and coolant" if web.under_cord else "coolant"
    return (
        f"Make {_names(web)} {mm(math.ceil(10 * more_mm) / 10)} less deep, narrower, or move it "
        f"from under the {what}; or take a thicker body."
    )


def _sagging(scene: Scene, rows: list[Web]) -> Iterator[Finding]:
    gland, least = design_of(scene).gland, scene.limit("web-squeeze")
    if gland is None or not rows[0].under_cord:
        return
    lifted: dict[str, float] = {}
    for row in report_of(scene).clamped:
        lifted[row.load.name] = max(lifted.get(row.load.name, 0.0), row.clamping.opening_mm)
    left, web, lift = min(
        (
            (gland.squeeze.least - (web.sag_mm + lifted.get(web.load.name, 0.0)) / gland.cord_mm, web,
             lifted.get(web.load.name, 0.0))
            for web in rows
        ),
        key=lambda row: row[0],
    )  # fmt: skip
    # Where the lid alone takes too much, or the cord is never pressed enough, that is told.
    if 100 * left >= least - 1e-9 or 100 * (left + web.sag_mm / gland.cord_mm) < least - 1e-9:
        return
    may = max(web.sag_mm - (least / 100 - left) * gland.cord_mm, 1e-3)
    more = web.beside_mm * ((web.sag_mm / may) ** (1 / 3) - 1)
    sags = mm(web.sag_mm) if web.sag_mm <= _SMALL * web.thickness_mm else f"more than {mm(web.thickness_mm / 2)}"
    yield Finding(
        rule="web-squeeze",
        level="error",
        items=web.items,
        value=100 * left,
        limit=least,
        unit="%",
        at=web.at,
        message=f"At the {web.load.name} pressure the {mm(web.thickness_mm)} of body between groove and {_names(web)} "
        f"sag by {sags} while the lid lifts {mm(lift)} at most: "
        f"{f'{100 * left:.0f} % of squeeze' if left > 0 else 'no squeeze'} is left; the minimum is {least:g} %.",
        remedy=_remedy(web, more),
        **ways(*_shallower(scene, web, more)),
    )


def _shallower(scene: Scene, web: Web, more_mm: float) -> Iterator[Fix | None]:
    """A single pocket less deep, to a tenth; or the next thicker body."""
    more = math.ceil(10 * more_mm + 1e-6) / 10
    if len(web.items) == 1:
        key, index = scene.numbers[web.items[0]]
        item = scene.document.pockets[index]
        best = round(item.depth_mm - more, 3)
        if best > 0 and not item.locked:
            yield Fix(f"Make {item.id} {mm(best)} deep", (Change(f"/{key}/{index}/depth_mm", best),))
    yield set_figures.thicker(scene, "body", scene.document.plate.body_thickness_mm + more)


@rules(
    Rule("body-stress", "holds", "Stress in a floor thinner than the lid, as the body bends against it", None, "MPa",
         "What bends the lid bends the body the other way: a floor under a long channel is its weakest line.",
         "statics; the opening of a crack in a bent plate (Sih, Paris and Erdogan 1962, from memory)"),
    slow=True,
)  # fmt: skip
def the_body(scene: Scene) -> Iterator[Finding]:
    """Thin floors under the lid's moment: of the two loads the worse one."""
    row = worst_over(report_of(scene).folded)
    if row is None:
        return
    limit = row.load.design_stress_mpa
    # As the square of its thickness, and a thicker floor takes more of the moment: it is tried before it is offered.
    more = row.left_mm * (math.sqrt(row.stress_mpa / limit) - 1)
    yield Finding(
        rule="body-stress",
        level="error",
        items=row.items,
        value=row.stress_mpa,
        limit=limit,
        unit="MPa",
        at=row.at,
        message=f"At the {row.load.name} pressure of {row.load.pressure_kpa:g} kPa the body bends against its lid, and "
        f"{mm(row.left_mm)} of {'body over the pocket' if row.pocket else 'floor under'} {', '.join(row.items)} bear "
        f"{row.stress_mpa:.1f} MPa; the maximum is {limit:g} MPa.",
        remedy=f"Make it about {mm(math.ceil(10 * more) / 10)} thicker: a thicker body, or "
        f"{'a pocket' if row.pocket else 'channels'} less deep; "
        "or place the screws closer to the groove, or take a softer cord.",
        **ways(
            set_figures.thicker(scene, "body", scene.document.plate.body_thickness_mm + more),
            set_figures.thicker(scene, "body", scene.document.plate.body_thickness_mm + 2 * more),
        ),
    )
