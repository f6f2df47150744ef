"""Does it hold: the seal's groove and cord."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sketcher.checks import moving_apart, set_figures
from sketcher.checks.hold_moves import groove_ways
from sketcher.checks.hold_side import other_side
from sketcher.checks.running import rules
from sketcher.checks.scene import ASIDE, Scene
from sketcher.checks.walls import by_culprit
from sketcher.document.remembered import Remembered, parts_of
from sketcher.findings import PRACTICE, Change, Finding, Fix, Rule, mm, ways
from sketcher.strength.gland import groove_cutter_mm
from sketcher.strength.groove import MissingWall
from sketcher.strength.lid import LidReport, lid_report, to_screws_mm
from sketcher.strength.seal import SealDesign, SealLoop, design_seal, gland_of, screw_of

#: What needs less room between coolant and what is dry: a thinner cord; a bonded land is the narrowest of all.
NARROWER = {"cord": ", take a thinner cord, or bond the lid", "gasket": ", or bond the lid", "bonded": ""}
HANDBOOKS = "ISO 3601-2 and general handbooks on O-ring glands"

_designs: Remembered[SealDesign] = Remembered(most=8)
_reports: Remembered[LidReport] = Remembered(most=8)


def design_of(scene: Scene) -> SealDesign:
    """The scene's seal, designed once; and not again while nothing that it asks for has changed."""
    key = parts_of(scene.document, ASIDE)
    return _designs.of(*key, lambda: design_seal(scene.document, scene.shapes))


def report_of(scene: Scene) -> LidReport:
    """The scene's lid, bent once, likewise."""
    key = parts_of(scene.document, ASIDE)
    return _reports.of(*key, lambda: lid_report(scene.document, scene.shapes, design_of(scene)))


@rules(
    Rule("seal-impossible", "holds", "The seal's figures can be made", None, "",
         "A cord thicker than the body, or pressed by nothing, seals nothing.", HANDBOOKS),
    Rule("seal-squeeze-least", "holds", "Squeeze with the thinnest cord in the deepest groove", 10.0, "%",
         "A cord that is hardly pressed leaks when it has set.",
         "general handbooks on O-ring glands: at least 10 % in a face seal"),
    Rule("seal-squeeze-most", "holds", "Squeeze with the thickest cord in the shallowest groove", 35.0, "%",
         "A cord that is pressed too far splits, and lifts the lid.",
         "general handbooks on O-ring glands: at most about 35 % in a face seal"),
    Rule("seal-fill", "holds", "Fill with the thickest cord in the smallest groove", 90.0, "%",
         "Rubber cannot be pressed smaller: a groove that is full forces the lid up, and rubber swells and warms.",
         HANDBOOKS),
    Rule("seal-cutter", "made", "A cutter of the shop goes into the groove", None, "mm",
         "A groove narrower than the smallest cutter cannot be milled.", PRACTICE),
    reads=(),
)  # fmt: skip
def the_gland(scene: Scene) -> Iterator[Finding]:
    """The groove in section, over the tolerances of cord and cut."""
    gland, problem = gland_of(scene.document)
    if problem:
        yield _no_seal(problem)
    if gland is None:
        return
    least, most = scene.limit("seal-squeeze-least"), scene.limit("seal-squeeze-most")
    fill = scene.limit("seal-fill")
    rows = (
        ("seal-squeeze-least", 100 * gland.squeeze.least, least, 100 * gland.squeeze.least < least - 1e-9,
         "Ask for more squeeze, or for tighter tolerances of cord and groove depth."),
        ("seal-squeeze-most", 100 * gland.squeeze.most, most, 100 * gland.squeeze.most > most + 1e-9,
         "Ask for less squeeze, or for tighter tolerances of cord and groove depth."),
        ("seal-fill", 100 * gland.fill.most, fill, 100 * gland.fill.most > fill + 1e-9,
         "Ask for less fill (a wider groove), or for tighter tolerances."),
    )  # fmt: skip
    for rule, value, limit, bad, remedy in rows:
        if bad:
            what = "fill" if rule == "seal-fill" else "squeeze"
            yield Finding(
                rule=rule,
                level="error",
                items=(),
                value=value,
                limit=limit,
                unit="%",
                message=f"Worst-case {what} of the {mm(gland.cord_mm)} cord is {value:.0f} % "
                f"({'minimum' if rule == 'seal-squeeze-least' else 'maximum'} {limit:g} %).",
                remedy=remedy,
                **ways(*set_figures.squeezed(scene.document.seal, rule, value, limit)),
            )
    cutters = tuple(scene.document.shop.cutter_diameters_mm)
    if scene.document.channels and groove_cutter_mm(gland, cutters) is None:
        smallest = min(scene.document.shop.cutter_diameters_mm)
        yield Finding(
            rule="seal-cutter",
            level="warning",
            items=(),
            value=gland.width_mm,
            limit=smallest,
            unit="mm",
            message=f"The groove is {mm(gland.width_mm)} wide; the shop's smallest cutter has {mm(smallest)}.",
            remedy="Ask the shop for a smaller cutter, or take a thicker cord.",
        )


def _no_seal(problem: str) -> Finding:
    return Finding(
        rule="seal-impossible",
        level="error",
        items=(),
        message=f"There is no seal: {problem}.",
        remedy="Change the seal's figures, or choose a cut gasket or a bonded lid.",
    )


@rules(
    Rule("seal-wall", "holds", "The groove has its walls to the coolant and to everything dry", None, "mm",
         "A groove needs a wall to the coolant, its own width, and a wall beyond; the seal gives the wall.",
         PRACTICE),
    Rule("seal-bend", "holds", "The groove's bends are no tighter than three sections of the cord inside", None, "mm",
         "A cord that is bent more tightly lifts out of its groove and thins on the outside of the bend.", HANDBOOKS),
    Rule("seal-under", "holds", "Floor between the groove and what it passes over in the body", None, "mm",
         "A groove that is cut into a port's bore or a pocket lets coolant out below the cord.", PRACTICE),
    Rule("seal-joint", "holds", "A straight run for the cord's joint, to either side, beside no screw", 5.0, "mm",
         "A joint that lies in a bend or beside a screw opens.", PRACTICE),
    slow=True,
)  # fmt: skip
def the_groove(scene: Scene) -> Iterator[Finding]:
    """Places where the groove does not fit."""
    design = design_of(scene)
    if design.problem and not gland_of(scene.document)[1]:
        yield _no_seal(design.problem)
    missing = [_missing(scene, wall) for wall in design.missing]
    walls = [finding for finding in missing if finding.rule == "seal-wall" and len(finding.items) > 1]
    yield from by_culprit(walls, "groove and walls need")
    yield from (finding for finding in missing if finding not in walls)
    if design.kind == "cord":
        yield from (finding for loop in design.loops if (finding := _joint(scene, design, loop)) is not None)


def _joint(scene: Scene, design: SealDesign, loop: SealLoop) -> Finding | None:
    """A cord's joint that no place on its groove suits: it lies in a bend, or beside a screw's head."""
    least, joint, screw = scene.limit("seal-joint"), loop.joint, screw_of(scene.document)
    around = f"around {', '.join(loop.items)}"
    beside = 0.0
    if screw is not None and design.screw_axes:
        beside = math.hypot(to_screws_mm(scene.document, design), screw.cap_head.diameter_mm / 2)
    if joint.straight_mm < least - 1e-9:
        value, limit = joint.straight_mm, least
        message = (
            f"The groove {around} has no straight run for the cord's joint: {mm(value)} to either side; the minimum is "
            f"{mm(limit)}."
        )
    elif joint.to_screw_mm < beside - 1e-9:
        value, limit = joint.to_screw_mm, beside
        message = (
            f"The groove {around} has no place for the cord's joint away from screws: {mm(value)} from an axis; the "
            f"minimum is {mm(limit)}."
        )
    else:
        return None
    return Finding(
        rule="seal-joint",
        level="note",
        items=loop.items,
        value=value,
        limit=limit,
        unit="mm",
        at=joint.at,
        message=message,
        remedy="Glue the joint with care at the marked place, or use a ring without a joint.",
    )


def _missing(scene: Scene, wall: MissingWall) -> Finding:
    what = {"cord": "groove", "gasket": "gasket", "bonded": "bonded land"}[scene.document.seal.kind]
    water, other = wall.items[0], wall.items[-1]
    near = "the plate's edge" if wall.kind == "edge" else f"{wall.kind} {other}"
    lacking = wall.limit_mm - wall.value_mm
    if wall.why == "wall":
        return Finding(
            rule="seal-wall",
            level="error",
            items=wall.items,
            value=wall.value_mm,
            limit=wall.limit_mm,
            unit="mm",
            at=wall.at,
            message=f"{mm(wall.value_mm)} between {water} and {near}; the {what} with its walls needs "
            f"{mm(wall.limit_mm)}.",
            remedy=f"Move one of them {mm(lacking)} away{NARROWER[scene.document.seal.kind]}.",
            **ways(*groove_ways(scene, wall), _other_side(scene, wall)),
        )
    if wall.why == "under":
        return _under(scene, wall, what)
    return Finding(
        rule="seal-bend",
        level="error",
        items=wall.items,
        value=wall.value_mm,
        limit=wall.limit_mm,
        unit="mm",
        at=wall.at,
        message=f"Bend of the {what} around {water} too tight: {mm(wall.value_mm)} from its centreline to {near}, "
        f"needs {mm(wall.limit_mm)}."
        if wall.why == "bend"
        else f"The {what} around {', '.join(wall.items)} bends with a radius of {mm(wall.value_mm)}; the minimum for "
        f"the cord is {mm(wall.limit_mm)}.",
        remedy="Move them apart, or ease the channel's corner."
        if scene.document.seal.kind != "cord"
        else "Move them apart, ease the channel's corner, or take a thinner cord.",
        **ways(*(groove_ways(scene, wall) if wall.why == "bend" else ()), _other_side(scene, wall)),
    )


def _other_side(scene: Scene, wall: MissingWall) -> Fix | None:
    """The lid on the other face, where that can matter: a port, a pocket or a blind hole is not the same from there."""
    numbers = (scene.numbers.get(item, ("", 0))[0] for item in wall.items)
    return other_side(scene) if {"ports", "pockets", "holes"} & set(numbers) else None


def _under(scene: Scene, wall: MissingWall, what: str) -> Finding:
    """The groove passes over something in the body: an edge port, a pocket from the other face, a blind hole."""
    other = wall.items[-1]
    port = scene.shapes.ports.get(other)
    remedy = f"Make {other} less deep, move it aside, or make the body thicker."
    fix = moving_apart.shallower(scene, other, wall.limit_mm - wall.value_mm)
    if port is not None and port.heading is not None:
        away = 1.0 if scene.document.plate.lid_face == "bottom" else -1.0
        level = round(port.rise + away * (wall.limit_mm - wall.value_mm + 0.01), 2)
        remedy = "Make the body thicker, or set the port's axis farther from the lid."
        if level > 0:
            index = next(i for i, item in enumerate(scene.document.ports) if item.id == other)
            fix = Fix(f"Move the axis of {other} to {mm(level)}", (Change(f"/ports/{index}/level_mm", level),))
            remedy = f"Set the port's axis to {mm(level)} above the underside, or make the body thicker."
    return Finding(
        rule="seal-under",
        level="error",
        items=wall.items,
        value=wall.value_mm,
        limit=wall.limit_mm,
        unit="mm",
        at=wall.at,
        message=f"The {what} passes over {wall.kind} {other} and leaves {mm(wall.value_mm)} between them; "
        f"the minimum is {mm(wall.limit_mm)}.",
        remedy=remedy,
        **ways(fix, _other_side(scene, wall)),
    )
