"""The groove of a cord seal in section: depth, width, squeeze, fill, bend and force.

The cord is round and incompressible; it lies in a rectangular groove in the body and the flat lid presses it.

- squeeze: s = (d - h) / d, cord section d, groove depth h;
- fill: f = (π d² / 4) / (w h), groove width w.

Ranges: squeeze 20 to 30 %, fill about 75 % and at most 85 % at the nominal sizes, at most 90 % at the largest cord in
the smallest groove (ISO 3601-2 and general handbooks on O-ring glands); squeeze of a face seal at the worst sizes
at least 10 %, at most 35 % (the same handbooks). Corners no tighter than three sections on the inside.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

from sketcher.reference import cords
from sketcher.reference.cords import Cord

BEND_SECTIONS = 3.0
#: With both at these values a section of the gland table has the table's own groove.
SQUEEZE_DEFAULT, FILL_DEFAULT = 0.25, 0.75
#: The force of a cord lies in a wide band: a maker's chart gives 0.88 to 3.15 N/mm for 1.78 mm of 70 Shore A at 20 %,
#: which is 0.8 to 2.8 times the formula. The top of the band counts wherever too little would be unsafe.
FORCE_SCATTER = 2.8
#: Widths that a cutter takes in one pass and that a shop expects on a drawing. Common practice, no source.
WIDTH_STEP_MM = 0.05


class SealError(ValueError):
    """A seal that cannot be: the message says which figure is out of range and what would be right."""


@dataclass(frozen=True)
class Range:
    """Least, nominal and most of a figure."""

    least: float
    nominal: float
    most: float


@dataclass(frozen=True)
class Gland:
    """A groove in section, mm; squeeze and fill as fractions; forces in N per mm of cord."""

    cord_mm: float
    depth_mm: float
    width_mm: float
    depth_tolerance_mm: float
    width_tolerance_mm: float
    cord_tolerance_mm: float
    squeeze: Range
    fill: Range
    inside_radius_mm: float
    line_load_n_mm: float
    line_load_most_n_mm: float

    @property
    def centreline_radius_mm(self) -> float:
        """Least bend radius of the groove's centreline: the inside wall's radius plus half the width."""
        return self.inside_radius_mm + self.width_mm / 2

    def as_json(self) -> dict[str, Any]:
        """The gland as plain values."""
        return {**asdict(self), "centreline_radius_mm": self.centreline_radius_mm}


def squeeze_of(cord_mm: float, depth_mm: float) -> float:
    """Squeeze, a fraction of the section: (d - h) / d."""
    return (cord_mm - depth_mm) / cord_mm


def fill_of(cord_mm: float, depth_mm: float, width_mm: float) -> float:
    """Fill, the cord's share of the groove's section: (π d²/4) / (w h)."""
    return math.pi * cord_mm**2 / 4 / (width_mm * depth_mm)


def squeeze_range(cord_mm: float, depth_mm: float, cord_tolerance_mm: float, depth_tolerance_mm: float) -> Range:
    """Squeeze over the tolerances: thinnest cord in the deepest groove to thickest cord in the shallowest."""
    return Range(
        least=squeeze_of(cord_mm - cord_tolerance_mm, depth_mm + depth_tolerance_mm),
        nominal=squeeze_of(cord_mm, depth_mm),
        most=squeeze_of(cord_mm + cord_tolerance_mm, depth_mm - depth_tolerance_mm),
    )


def fill_range(
    cord_mm: float,
    depth_mm: float,
    width_mm: float,
    cord_tolerance_mm: float,
    depth_tolerance_mm: float,
    width_tolerance_mm: float,
) -> Range:
    """Fill over the tolerances: thinnest cord in the largest groove to thickest cord in the smallest."""
    return Range(
        least=fill_of(cord_mm - cord_tolerance_mm, depth_mm + depth_tolerance_mm, width_mm + width_tolerance_mm),
        nominal=fill_of(cord_mm, depth_mm, width_mm),
        most=fill_of(cord_mm + cord_tolerance_mm, depth_mm - depth_tolerance_mm, width_mm - width_tolerance_mm),
    )


def rubber_modulus_mpa(hardness_shore_a: float) -> float:
    """Young's modulus of rubber from its Shore A hardness, MPa.

    E = 0.0981 (56 + 7.62336 S) / (0.137505 (254 - 2.54 S)), 20 < S < 80.
    A. N. Gent, On the relation between indentation hardness and Young's modulus, Rubber Chemistry and Technology
    31 (1958). Above 80 the formula is an extrapolation.

    Raises:
        SealError: hardness outside 20 to 95.
    """
    if not 20 <= hardness_shore_a <= 95:
        raise SealError(f"hardness is {hardness_shore_a:g} Shore A; a sealing cord has 20 to 95, usually 50 to 80")
    return 0.0981 * (56 + 7.62336 * hardness_shore_a) / (0.137505 * (254 - 2.54 * hardness_shore_a))


def line_load_n_mm(cord_mm: float, squeeze: float, hardness_shore_a: float) -> float:
    """Force to press a round cord, N per mm of its length.

    F / L = E d (1.25 s^1.5 + 50 s^6), s the squeeze.
    P. B. Lindley, Compression characteristics of laterally-unrestrained rubber O-rings, Journal of the IRI 1 (1967).
    Published measurements lie above it; see ``FORCE_SCATTER``.

    Raises:
        SealError: squeeze outside 0 to 0.5, where the formula was fitted.
    """
    if not 0 <= squeeze <= 0.5:
        raise SealError(f"squeeze is {100 * squeeze:g} %; the force is known from 0 to 50 %")
    return float(rubber_modulus_mpa(hardness_shore_a) * cord_mm * (1.25 * squeeze**1.5 + 50 * squeeze**6))


def design_gland(
    cord_mm: float,
    *,
    squeeze: float = 0.25,
    fill: float = 0.75,
    cord_tolerance_mm: float = 0.1,
    depth_tolerance_mm: float = 0.05,
    width_tolerance_mm: float = 0.1,
    hardness_shore_a: float = 60.0,
) -> Gland:
    """The groove for a cord at the wanted squeeze and fill (fractions), with their ranges over the tolerances.

    The depth is kept to 0.01 mm and the width to the step of ``WIDTH_STEP_MM``, as they stand on the drawing.

    Raises:
        SealError: a size or fraction that no seal can have, or tolerances larger than what is pressed.
    """
    if not (math.isfinite(cord_mm) and cord_mm > 0):
        raise SealError(f"the cord's section is {cord_mm:g} mm; give a section above 0, usually 1.5 to 5 mm")
    if not 0 < squeeze < 0.5:
        raise SealError(f"squeeze is {100 * squeeze:g} %; a cord is pressed by more than 0, usually 20 to 30 %")
    if not 0 < fill <= 1:
        raise SealError(f"fill is {100 * fill:g} %; rubber cannot be pressed smaller: give 60 to 85 %")
    if min(cord_tolerance_mm, depth_tolerance_mm, width_tolerance_mm) < 0:
        raise SealError("a tolerance is below 0; give how far a size may be off to either side")
    depth = round(cord_mm * (1 - squeeze), 2)
    steps = math.pi * cord_mm**2 / 4 / (depth * fill) / WIDTH_STEP_MM if depth > 0 else 0.0
    width = round(round(steps) * WIDTH_STEP_MM, 4)
    row = table_row(cord_mm, squeeze, fill)
    if row is not None:
        depth, width = row.groove_depth_mm, row.groove_width_mm
    if depth <= 0 or width <= 0:
        raise SealError(f"a cord of {cord_mm:g} mm is too thin for any groove; usual are 1.5 to 5 mm")
    if cord_tolerance_mm >= cord_mm / 2 or depth_tolerance_mm >= depth / 2 or width_tolerance_mm >= width / 2:
        raise SealError("a tolerance is more than half the size it belongs to; check cord and groove tolerances")
    squeezes = squeeze_range(cord_mm, depth, cord_tolerance_mm, depth_tolerance_mm)
    load = line_load_n_mm(cord_mm, squeezes.nominal, hardness_shore_a)
    load_most = FORCE_SCATTER * line_load_n_mm(
        cord_mm + cord_tolerance_mm, min(max(squeezes.most, 0.0), 0.5), hardness_shore_a
    )
    return Gland(
        cord_mm=cord_mm,
        depth_mm=depth,
        width_mm=width,
        depth_tolerance_mm=depth_tolerance_mm,
        width_tolerance_mm=width_tolerance_mm,
        cord_tolerance_mm=cord_tolerance_mm,
        squeeze=squeezes,
        fill=fill_range(cord_mm, depth, width, cord_tolerance_mm, depth_tolerance_mm, width_tolerance_mm),
        inside_radius_mm=BEND_SECTIONS * cord_mm,
        line_load_n_mm=load,
        line_load_most_n_mm=load_most,
    )


def table_row(cord_mm: float, squeeze: float, fill: float) -> Cord | None:
    """The published groove of a section, when squeeze and fill are left at their usual values; else none."""
    usual = abs(squeeze - SQUEEZE_DEFAULT) < 1e-9 and abs(fill - FILL_DEFAULT) < 1e-9
    known = [section for section in cords.sections_mm() if abs(section - cord_mm) < 1e-9]
    return cords.cord(known[0]) if usual and known else None


def groove_cutter_mm(gland: Gland, cutter_diameters_mm: tuple[float, ...]) -> float | None:
    """The largest cutter that still goes into the groove; None when even the smallest is too wide."""
    fitting = [diameter for diameter in cutter_diameters_mm if diameter <= gland.width_mm + 1e-9]
    return max(fitting, default=None)
