"""A softer cord or gasket sheet, where the lid's screws pull too much: in words, as a fix, and what it leaves."""

from __future__ import annotations

from sketcher.document.plate import Seal
from sketcher.findings import Change, Fix
from sketcher.reference import seals
from sketcher.strength.clamping import ScrewLoad
from sketcher.strength.gland import rubber_modulus_mpa

#: The softest cord that is proposed, Shore A: softer ones are hard to get and creep more. Common practice, no source.
SOFT_SHORE_A = 50.0
#: The gasket sheet that asks for no seating force.
SOFT_SHEET = "elastomer below 75 Shore A"


def softer_fix(seal: Seal) -> Fix | None:
    """A softer cord or sheet, which pushes less on every screw; none where it is soft already, or the lid is bonded."""
    if seal.kind == "cord" and seal.hardness_shore_a > SOFT_SHORE_A:
        change = Change("/seal/hardness_shore_a", SOFT_SHORE_A)
        return Fix(f"Take a cord of {SOFT_SHORE_A:g} Shore A instead of {seal.hardness_shore_a:g}", (change,))
    if seal.kind == "gasket" and seals.gasket_material(seal.gasket).seating_stress_mpa > 0:
        return Fix(f"Take a gasket sheet of {SOFT_SHEET}", (Change("/seal/gasket", SOFT_SHEET),))
    return None


def softer_words(seal: Seal) -> str:
    """What to take, in words; empty where nothing softer is proposed."""
    if softer_fix(seal) is None:
        return ""
    return f"a cord of {SOFT_SHORE_A:g} Shore A" if seal.kind == "cord" else f"a gasket sheet of {SOFT_SHEET}"


def pull_with_softer_n(seal: Seal, screw: ScrewLoad) -> float | None:
    """About what a screw pulls with a softer cord, N: the cord's push goes with its modulus, and the lid's prying with
    the push. None where nothing softer is proposed, or the sheet's push is not known in parts."""
    if softer_fix(seal) is None or seal.kind != "cord":
        return None
    push = screw.cord_n + screw.pressure_n
    if push <= 0:
        return None
    share = rubber_modulus_mpa(SOFT_SHORE_A) / rubber_modulus_mpa(seal.hardness_shore_a)
    return screw.total_n * (share * screw.cord_n + screw.pressure_n) / push
