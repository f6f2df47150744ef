"""Can it be screwed together: holes that suit their screws, threads that are there, lid screws that reach the lid."""

from __future__ import annotations

from collections.abc import Iterator

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import PRACTICE, Cause, Change, Finding, Fix, Level, Rule, mm
from sketcher.geometry.shapes import HoleShape, PortShape
from sketcher.reference import screws as screw_table

#: Share of a thread's full height that has to be left when its hole is drilled wider than usual. A wider hole than the
#: usual drill leaves less thread, and the strengths here are worked out for the usual one. Common practice, no source.
LEAST_HEIGHT = 0.65


@rules(
    Rule("hole-size", "made", "A screw hole suits its screw: room to pass, or material for a thread", None, "mm",
         "A screw does not go through a hole that is narrower than itself, and finds no thread in one as wide.",
         "sizes: ISO 261, ISO 273; how much thread may be missing: " + PRACTICE),
    named=True,
)  # fmt: skip
def holes(scene: Scene) -> Iterator[Finding]:
    """Diameters that the document gives, against the screw's own."""
    for index, hole in enumerate(scene.shapes.holes.values()):
        if hole.screw is None or hole.item.diameter_mm is None:
            continue
        if hole.item.kind == "tapped":
            yield from _tapped(hole, index)
        elif hole.diameter < hole.screw.major_mm + 0.05 - 1e-9:
            wide = hole.screw.clearance_mm
            yield _size(
                hole, index, hole.screw.major_mm, f"{hole.item.id} is {mm(hole.diameter)} wide: an {hole.screw.name} "
                "does not go through.", wide,
            )  # fmt: skip


def _tapped(hole: HoleShape, index: int) -> Iterator[Finding]:
    screw = hole.screw
    assert screw is not None
    most = screw.major_mm - LEAST_HEIGHT * (screw.major_mm - screw.internal_minor_mm)
    least = screw.internal_minor_mm - 0.1
    if hole.diameter > most + 1e-6:
        yield _size(
            hole, index, most, f"{hole.item.id} is drilled {mm(hole.diameter)} wide: too little of an {screw.name} "
            f"thread is left; {mm(round(most, 2))} is the maximum.", screw.tap_drill_mm,
        )  # fmt: skip
    elif hole.diameter < least - 1e-6:
        yield _size(
            hole, index, least, f"{hole.item.id} is drilled {mm(hole.diameter)} wide: an {screw.name} tap breaks in "
            "it.", screw.tap_drill_mm,
        )  # fmt: skip


def _size(hole: HoleShape, index: int, limit: float, message: str, best: float) -> Finding:
    item = hole.item
    return Finding(
        "hole-size", "error", (item.id,), message, f"Make it {mm(best)} wide, or clear its diameter.",
        hole.diameter, limit, "mm", (item.x_mm, item.y_mm),
        fix=Fix(f"Make {item.id} {mm(best)} wide", (Change(f"/holes/{index}/diameter_mm", best),)),
        cause=Cause(f"{item.kind} {item.screw} {item.diameter_mm}", "{count} holes do not suit their screws.",
                    f"Make them {mm(best)} wide, or clear their diameters."),
    )  # fmt: skip


@rules(
    Rule("screw-side", "holds", "Lid screws go in through the lid and find a thread in the body", None, "",
         "A screw that is tapped from the body's outer side, or into nothing, does not hold the lid.", PRACTICE),
    Rule("screw-size", "holds", "Lid screws are of the size that seal, loads and torque are calculated for", None, "",
         "A thinner screw holds less and strips at a lower torque than is stated.", PRACTICE),
    named=True,
)  # fmt: skip
def lid_screws(scene: Scene) -> Iterator[Finding]:
    """Lid screws' side, kind and size."""
    document = scene.document
    if document.seal.kind == "bonded":
        return
    name, face = document.seal.screw, document.plate.lid_face
    known = screw_table.names()
    if name not in known and scene.shapes.channels:
        yield Finding(
            "name-unknown", "error", (), f"The seal names the screw {name!r}, which is in no table here.",
            f"Choose one of {', '.join(known)}.",
        )  # fmt: skip
    for index, hole in enumerate(document.holes):
        if hole.use != "lid":
            continue
        at = (hole.x_mm, hole.y_mm)
        if hole.face != face:
            yield Finding(
                "screw-side", "error", (hole.id,), f"The lid screw {hole.id} goes in from the {hole.face}; the lid is "
                f"on the {face}.", f"Set its side to {face}.", at=at,
                fix=Fix(f"Set {hole.id} to the {face}", (Change(f"/holes/{index}/face", face),)),
                cause=Cause("face", f"{{count}} lid screws go in from the {hole.face}; the lid is on the {face}.",
                            f"Set their side to {face}."),
            )  # fmt: skip
        elif hole.kind != "tapped":
            yield Finding(
                "screw-side", "warning", (hole.id,), f"The lid screw {hole.id} has no thread in the body: only a nut "
                "on the far face holds it.", "Make it a tapped hole, or allow for nuts and washers there.", at=at,
                fix=Fix(f"Tap {hole.id} for {hole.screw}", (Change(f"/holes/{index}/kind", "tapped"),)),
                cause=Cause("kind", "{count} lid screws have no thread in the body: only nuts on the far face hold "
                            "them.", "Make them tapped holes, or allow for nuts and washers there."),
            )  # fmt: skip
        if hole.screw != name and hole.screw in known and name in known:
            yield Finding(
                "screw-size", "error", (hole.id,), f"The lid screw {hole.id} is an {hole.screw}; the seal is "
                f"calculated with {name}.", f"Make it an {name}, or set the seal's screw to {hole.screw}.", at=at,
                fix=Fix(f"Make {hole.id} an {name}", (Change(f"/holes/{index}/screw", name),)),
                cause=Cause(hole.screw, f"{{count}} lid screws are {hole.screw}; the seal is calculated with {name}.",
                            f"Make them {name}, or set the seal's screw to {hole.screw}."),
            )  # fmt: skip


@rules(
    Rule("port-marker", "made", "A port that coolant reaches has a thread", None, "",
         "A marker is a place that is not machined yet: no fitting can be screwed in, and the coolant has no way.",
         PRACTICE),
    Rule("bore-thread", "holds", "A port's bore leaves its thread standing", None, "mm",
         "A bore that is drilled from the face takes the thread away when it is wider.",
         "sizes: ISO 228-1; how much thread may be missing: " + PRACTICE),
    Rule("fitting-size", "holds", "Width of the ring under a fitting, beyond its thread", 1.0, "mm",
         "A fitting seals with a ring on the plate's face: one no wider than its thread has none.", PRACTICE),
    named=True,
)  # fmt: skip
def ports(scene: Scene) -> Iterator[Finding]:
    """Ports without a thread, or with one that their own bore or fitting does not suit."""
    least = scene.limit("fitting-size")
    for index, port in enumerate(scene.shapes.ports.values()):
        item, thread = port.item, port.thread
        if item.thread is None and item.id in scene.channels_at:
            level: Level = "error" if item.use in ("loop", "fill", "drain", "bleed") else "warning"
            yield Finding(
                "port-marker", level, (item.id,), f"{item.id} is a marker without a thread, and a channel ends at it.",
                "Give it a thread.", at=port.at,
                fix=Fix(f"Tap {item.id} G1/4", (Change(f"/ports/{index}/thread", "G1/4"),)),
                cause=Cause("marker", "{count} ports that channels reach are markers without a thread.",
                            "Give them threads."),
            )  # fmt: skip
        if thread is None or item.use == "plugged":
            continue
        yield from _bore(port, index)
        value = (item.fitting_diameter_mm - thread.major_mm) / 2
        if value < least - 1e-9:
            wide = round(thread.major_mm + 2 * least + 0.05, 1)
            yield Finding(
                "fitting-size", "error", (item.id,), f"The fitting of {item.id} is {mm(item.fitting_diameter_mm)} "
                f"wide over a thread of {mm(thread.major_mm)}: its ring is {mm(max(value, 0.0))}; {mm(least)} is the "
                "minimum.", f"Type in the fitting's true diameter, {mm(wide)} or more.", value, least, "mm", port.at,
            )  # fmt: skip


def _bore(port: PortShape, index: int) -> Iterator[Finding]:
    thread = port.thread
    assert thread is not None
    most = thread.major_mm - LEAST_HEIGHT * (thread.major_mm - thread.minor_mm)
    if port.bore_diameter <= max(most, thread.tap_drill_mm) + 1e-6:
        return
    id_, best = port.item.id, thread.tap_drill_mm
    yield Finding(
        "bore-thread", "error", (id_,), f"The bore of {id_} is {mm(port.bore_diameter)} wide and takes away its "
        f"thread {thread.name}; {mm(round(most, 2))} is the maximum.", f"Make it {mm(best)} wide.",
        port.bore_diameter, most, "mm", port.at,
        fix=Fix(f"Drill {id_} {mm(best)} wide", (Change(f"/ports/{index}/bore_diameter_mm", best),)),
    )  # fmt: skip
