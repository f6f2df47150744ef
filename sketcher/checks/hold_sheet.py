"""Does it hold: lid, cord and screws over the tolerance of the lid's sheet."""

from __future__ import annotations

from collections.abc import Iterator

from sketcher.checks.hold_seal import design_of, report_of
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import Finding, Rule, mm
from sketcher.strength.over_sheet import OverSheet, over_sheet


@rules(
    Rule("lid-sheet", "holds", "Lid, seal and screws hold for every thickness that the lid's sheet may have", None, "",
         "A thin lid bends and lifts more; under a thick one the screws engage less thread, under a thin one they meet "
         "its end before they press.",
         "ISO 7823-1 (cast), ISO 7823-2 (extruded); plate theory: stress with 1/t\u00b2, lift with 1/t\u00b3"),
    slow=True,
)  # fmt: skip
def the_sheet(scene: Scene) -> Iterator[Finding]:
    """What holds as drawn but not for the thinnest or the thickest lid; a lid that was measured is as it is."""
    document = scene.document
    report = report_of(scene)
    if document.plate.lid_thickness_is != "nominal" or not report.clamped or not report.on_screws:
        return
    found = over_sheet(document, design_of(scene), report)
    for words, items, at in _told(scene, found):
        yield Finding(
            rule="lid-sheet",
            level="warning",
            items=items,
            at=at,
            message=f"The lid's sheet may be {mm(found.thinnest_mm)} to {mm(found.thickest_mm)} thick: {words}",
            remedy="Measure the lid's sheet and type in what it is, or have it faced to size; or take a thicker lid, "
            "more screws or a deeper thread.",
        )


def _told(scene: Scene, found: OverSheet) -> Iterator[tuple[str, tuple[str, ...], tuple[float, float] | None]]:
    thin, thick = mm(found.thinnest_mm), mm(found.thickest_mm)
    if found.bent is not None:
        row, stress = found.bent
        limit = row.load.design_stress_mpa
        if row.stress_mpa <= limit < stress:
            yield f"at {thin} it bears {stress:.1f} MPa, the maximum is {limit:g} MPa.", row.items, row.span.at
    if found.lifted is not None:
        part, left = found.lifted
        least = scene.limit("lid-squeeze")
        worst = max(part.clamping.gaps, key=lambda gap: gap.opening_mm, default=None)
        if part.squeeze_left is not None and 100 * left < least <= 100 * part.squeeze_left:
            said = f"{100 * left:.0f} % of squeeze" if left > 0 else "no squeeze"
            yield (f"at {thin} {said} is left where it lifts, the minimum is {least:g} %.", part.items,
                   None if worst is None else worst.at)  # fmt: skip
    screw = f"{scene.document.seal.screw} x {found.stock_mm:g}" if found.stock_mm is not None else ""
    if found.pulled is not None:
        part, holds, pull = found.pulled
        if max(load.total_n for load in part.clamping.loads) <= part.thread_n and pull > holds:
            yield (f"screws {screw}, which engage {mm(found.engaged_mm)} of thread under {thick}, hold {holds:.0f} N "
                   f"where {pull:.0f} N pull.", part.items, None)  # fmt: skip
    if screw and found.short_mm > 1e-6:
        yield (f"under {thin} screws {screw} meet the end of their thread {mm(found.short_mm)} before they press "
               "the lid.", (), None)  # fmt: skip
